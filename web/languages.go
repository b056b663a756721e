//go:build !js

package web

import (
	"encoding/json"
	"fmt"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"example.org/plumb/web/words"
)

// A language is one that pages are written in.
type language struct {
	*words.Catalogue        // nil for English
	folder           string // before the paths of its pages: "/de"; empty for English
	address          string // of its file among the assets; empty for English
}

func (l language) tag() string {
	if l.Catalogue == nil {
		return "en"
	}
	return l.Language
}

func (l language) name() string {
	if l.Catalogue == nil {
		return "English"
	}
	return l.Name
}

// tongue is held by whoever makes pages: words knows one language at a time.
var tongue sync.Mutex

// speak does something while this language is spoken.
func (l language) speak(do func() error) error {
	tongue.Lock()
	defer tongue.Unlock()
	words.Use(l.Catalogue)
	defer words.Use(nil)
	return do()
}

// tags is the form of a language's tag: what stands in addresses is in lower case.
var tags = regexp.MustCompile(`^[a-z]{2,3}(-[a-z0-9]{2,8})*$`)

// Folders are what stands before the paths of pages in each language: nothing for English, which comes first.
func (a Assets) Folders() []string {
	list := []string{""}
	for _, name := range slices.Sorted(maps.Keys(a.name)) {
		if tag, ok := strings.CutSuffix(name, ".json"); ok {
			list = append(list, "/"+tag)
		}
	}
	return list
}

// languages are English and those among the assets: each file that ends in .json is one, called as its tag.
func (a Assets) languages() ([]language, error) {
	var list []language
	for _, folder := range a.Folders() {
		l := language{folder: folder}
		if folder != "" {
			name := path.Base(folder) + ".json"
			l.address = a.name[name]
			if err := json.Unmarshal(a.at[l.address].plain, &l.Catalogue); err != nil {
				return nil, fmt.Errorf("web: %s: %w", name, err)
			}
			if l.Catalogue == nil || "/"+l.Language != folder || !tags.MatchString(l.Language) || l.Name == "" || len(l.Messages) == 0 || carried[folder] != nil || l.Language == "assets" || l.Language == "api" {
				return nil, fmt.Errorf("web: %s is not the file of a language that is called so, with a name and messages", name)
			}
		}
		list = append(list, l)
	}
	return list, nil
}
