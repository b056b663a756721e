package main

import (
	"fmt"
	"slices"
	"strings"
)

// floors gives every package its floor, by its path below the module's. An import must go to a lower number.
var floors = map[string]int{
	"colour/transfer": 0, "patterns": 0, "patterns/psychophysics": 0, "web/words": 0, "web/words/wordstest": 0,
	"web/seal": 0, "web/link": 0, "web/picture": 0, "web/picture/picturetest": 0, "web/record": 0, "web/mailbox": 0, "web/metrics": 0, "web/metrics/metricstest": 0, "web/mailbox/migrations": 0,
	"colour": 1, "web/mailbox/client": 1, "web/mailbox/sql": 1, "web/carry": 1, "patterns/plates": 1, "web/pages": 1,
	"colour/display": 2, "colour/difference": 2, "colour/cct": 2, "colour/gamut": 2,
	"patterns/screen": 3, "patterns/observer": 3, "colour/icc": 3, "colour/readings": 3,
	"patterns/check":  4,
	"patterns/report": 5,
	"wasm/study":      6,
	"wasm/app":        7, "wasm/browser": 7, "web": 7,
	"web/mailbox/memory": 7, "web/mailbox/sqlite": 7, "web/mailbox/d1": 7, "web/mailbox/mailboxtest": 7,
	"wasm": 8, "wasm/looker": 8, "patterns/rehearse": 8, "patterns/plate": 8, "web/program": 8, "web/files": 8, "web/worker": 8,
	"web/server": 9, "web/worker/build": 9, "web/worker/workertest": 9,
}

// pure is the first floor whose packages may ask for the time, for chance and for the environment.
const pure = 7

// seeded lists programs from that floor up that must do without them all the same: what they print depends on their arguments alone.
var seeded = []string{"patterns/rehearse", "patterns/plate"}

// keyed lists packages below that floor that make keys. A key that could be repeated would be none, so they take theirs from the system's random source.
var keyed = []string{"web/seal", "web/link"}

// sighted lists the packages, each with all below its folder, that could read a letter or judge a screen. Others below web must not reach them.
var sighted = []string{"colour", "patterns", "wasm", "web/seal", "web/link", "web/picture", "web/carry"}

// adapters lists the packages that may import syscall/js.
var adapters = []string{"wasm", "wasm/browser", "wasm/looker", "web/worker", "web/mailbox/d1"}

// heavy lists packages, each with all below its path, that no package of ours in the browser program may import.
var heavy = []string{"net/http", "html/template", "log/slog", "golang.org/x/text/message", "gonum.org/v1/gonum"}

// data is the package of test vectors: tests alone import it.
const data = "testdata"

func within(name string, folders []string) bool {
	return slices.ContainsFunc(folders, func(f string) bool { return name == f || strings.HasPrefix(name, f+"/") })
}

// imports returns the imports that do not go down, and those that few packages may have.
func imports(packages []pkg, floors map[string]int) (faults []string) {
	for _, p := range packages {
		floor, ok := floors[p.name]
		if !ok {
			faults = append(faults, fmt.Sprintf("%s has no floor; give it one in .ci/floors/floors.go", p.name))
		}
		for _, i := range p.imports {
			if i == "syscall/js" && !slices.Contains(adapters, p.name) {
				faults = append(faults, fmt.Sprintf("%s imports syscall/js, which only %s may", p.name, strings.Join(adapters, ", ")))
			}
			name, ours := p.own(i)
			if !ours {
				continue
			}
			if name == data {
				faults = append(faults, fmt.Sprintf("%s imports %s outside its tests", p.name, data))
			} else if below, known := floors[name]; ok && known && below >= floor {
				faults = append(faults, fmt.Sprintf("%s (floor %d) imports %s (floor %d); imports go down only", p.name, floor, name, below))
			}
		}
	}
	return faults
}

// blindness returns what the server's packages reach and must not.
func blindness(packages []pkg) (faults []string) {
	for _, p := range packages {
		if !within(p.name, []string{"web"}) || within(p.name, sighted) {
			continue
		}
		for _, d := range p.deps {
			if name, ours := p.own(d); ours && within(name, sighted) {
				faults = append(faults, fmt.Sprintf("%s reaches %s; the server must be blind", p.name, name))
			}
		}
	}
	return faults
}

// weight returns the heavy imports of the browser program's packages.
func weight(packages []pkg) (faults []string) {
	inside := map[string]bool{}
	for _, p := range packages {
		if within(p.name, []string{"wasm"}) {
			inside[p.name] = true
			for _, d := range p.deps {
				if name, ours := p.own(d); ours {
					inside[name] = true
				}
			}
		}
	}
	for _, p := range packages {
		for _, i := range p.imports {
			if inside[p.name] && within(i, heavy) {
				faults = append(faults, fmt.Sprintf("%s, a part of the browser program, imports %s, which is too large for it", p.name, i))
			}
		}
	}
	return faults
}
