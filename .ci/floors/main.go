// Command floors fails if the packages do not lie on floors as DEVELOPERS.md draws them.
//
//	go run ./.ci/floors
//
// It looks at what packages import when built natively and for a browser, and at the names that their source uses. Tests may import what they like.
package main

import (
	"fmt"
	"os"
)

func main() {
	root := "."
	if len(os.Args) > 1 {
		root = os.Args[1]
	}
	faults, seen, err := check(root, floors)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for _, f := range faults {
		fmt.Fprintln(os.Stderr, "floors:", f)
	}
	if len(faults) > 0 {
		os.Exit(1)
	}
	fmt.Printf("floors: %d packages, each imports lower floors alone\n", seen)
}

// check returns what is wrong with the module at root, in words, and how many packages it looked at.
func check(root string, floors map[string]int) (faults []string, seen int, err error) {
	var all []string
	known := map[string]bool{}
	for _, p := range platforms {
		packages, err := list(root, p)
		if err != nil {
			return nil, 0, err
		}
		for _, k := range packages {
			known[k.name] = true
		}
		all = append(all, imports(packages, floors)...)
		all = append(all, blindness(packages)...)
		all = append(all, weight(packages)...)
		used, err := source(packages, floors)
		if err != nil {
			return nil, 0, err
		}
		all = append(all, used...)
	}
	if len(known) == 0 {
		return nil, 0, fmt.Errorf("floors: %s holds no package", root)
	}
	for name := range floors {
		if !known[name] {
			all = append(all, fmt.Sprintf("%s has a floor but is no package; take it off the list", name))
		}
	}
	top, err := strays(root)
	if err != nil {
		return nil, 0, err
	}
	return unique(append(all, top...)), len(known), nil
}
