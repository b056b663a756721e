package main

import (
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// sound is a module without a fault, by path; faults are planted in copies of it.
var sound = map[string]string{
	"go.mod":                    "module example.org/small\n\ngo 1.26.0\n",
	"README.md":                 "",
	".hidden/note":              "",
	"testdata/testdata.go":      "package testdata\n\nconst Vectors = 1\n",
	"colour/colour.go":          "package colour\n\nimport \"math\"\n\nvar White = math.Sqrt(2)\n",
	"patterns/patterns.go":      "package patterns\n\nimport (\n\t\"math/rand/v2\"\n\t\"time\"\n)\n\nfunc Draw(r *rand.Rand) time.Duration { return time.Duration(rand.New(rand.NewPCG(1, 2)).IntN(r.IntN(9) + 1)) }\n",
	"patterns/check/check.go":   "package check\n\nimport _ \"example.org/small/patterns\"\n",
	"patterns/check/it_test.go": "package check\n\nimport (\n\t\"time\"\n\n\t_ \"example.org/small/testdata\"\n\t_ \"example.org/small/wasm/app\"\n)\n\nvar _ = time.Now\n",
	"patterns/rehearse/main.go": "package main\n\nimport (\n\t\"os\"\n\n\t_ \"example.org/small/patterns/check\"\n)\n\nfunc main() { println(len(os.Args)) }\n",
	"web/pages/pages.go":        "package pages\n",
	"web/web.go":                "package web\n\nimport (\n\t_ \"net/http\"\n\n\t_ \"example.org/small/web/pages\"\n)\n",
	"web/server/main.go":        "package main\n\nimport (\n\t\"os\"\n\t\"time\"\n\n\t_ \"example.org/small/web\"\n)\n\nfunc main() { println(time.Now().String(), os.Getenv(\"A\")) }\n",
	"web/worker/main.go":        "//go:build js\n\npackage main\n\nimport (\n\t_ \"syscall/js\"\n\n\t_ \"example.org/small/web\"\n)\n\nfunc main() {}\n",
	"wasm/app/app.go":           "package app\n\nimport (\n\t_ \"example.org/small/patterns/check\"\n\t_ \"example.org/small/web/pages\"\n)\n",
	"wasm/main.go":              "//go:build js\n\npackage main\n\nimport (\n\t_ \"syscall/js\"\n\n\t_ \"example.org/small/wasm/app\"\n)\n\nfunc main() {}\n",
}

var soundFloors = map[string]int{
	"colour": 1, "patterns": 0, "patterns/check": 4, "patterns/rehearse": 8,
	"web/pages": 0, "web": 7, "web/server": 8, "web/worker": 8, "wasm/app": 7, "wasm": 8,
}

func plant(t *testing.T, files map[string]string) string {
	root := t.TempDir()
	for name, text := range files {
		at := filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

func TestSound(t *testing.T) {
	faults, seen, err := check(plant(t, sound), soundFloors)
	if err != nil || len(faults) > 0 || seen != len(soundFloors) {
		t.Errorf("%d packages, faults %q, %v", seen, faults, err)
	}
}

func TestPlanted(t *testing.T) {
	for _, c := range []struct {
		name, file, text string
		want             []string
	}{
		{"upwards", "patterns/patterns.go", "package patterns\n\nimport _ \"example.org/small/colour\"\n",
			[]string{"patterns (floor 0) imports colour (floor 1); imports go down only"}},
		{"neighbour", "web/web.go", "package web\n\nimport _ \"example.org/small/wasm/app\"\n", []string{
			"web (floor 7) imports wasm/app (floor 7); imports go down only",
			"web reaches patterns; the server must be blind",
			"web reaches patterns/check; the server must be blind",
			"web reaches wasm/app; the server must be blind",
			"web/server reaches patterns; the server must be blind",
			"web/server reaches patterns/check; the server must be blind",
			"web/server reaches wasm/app; the server must be blind",
			"web/worker reaches patterns; the server must be blind",
			"web/worker reaches patterns/check; the server must be blind",
			"web/worker reaches wasm/app; the server must be blind",
		}},
		{"sighted server in the browser's build alone", "web/worker/sees.go", "//go:build js\n\npackage main\n\nimport _ \"example.org/small/colour\"\n",
			[]string{"web/worker reaches colour; the server must be blind"}},
		{"no floor", "patterns/extra/extra.go", "package extra\n", []string{"patterns/extra has no floor; give it one in .ci/floors/floors.go"}},
		{"package in the module's own folder", "small.go", "package small\n",
			[]string{". has no floor; give it one in .ci/floors/floors.go",
				"small.go lies beside the five folders; the top holds colour, patterns, wasm, web, testdata, go.mod, go.sum, README.md, DEVELOPERS.md and names with a dot"}},
		{"browser", "wasm/app/js.go", "//go:build js\n\npackage app\n\nimport _ \"syscall/js\"\n",
			[]string{"wasm/app imports syscall/js, which only wasm, wasm/browser, wasm/looker, web/worker, web/mailbox/d1 may"}},
		{"heavy", "wasm/app/app.go", "package app\n\nimport (\n\t_ \"example.org/small/web/pages\"\n\t_ \"net/http/httptest\"\n)\n",
			[]string{"wasm/app, a part of the browser program, imports net/http/httptest, which is too large for it"}},
		{"heavy below", "web/pages/pages.go", "package pages\n\nimport _ \"html/template\"\n",
			[]string{"web/pages, a part of the browser program, imports html/template, which is too large for it"}},
		{"clock", "patterns/check/clock.go", "package check\n\nimport clock \"time\"\n\nvar Now = clock.Now\n",
			[]string{"patterns/check/clock.go uses time.Now; times, seeds and settings come in as arguments there"}},
		{"clock in the browser's build alone", "colour/clock.go", "//go:build js\n\npackage colour\n\nimport \"time\"\n\nvar start = time.Now()\n",
			[]string{"colour/clock.go uses time.Now; times, seeds and settings come in as arguments there"}},
		{"chance", "colour/chance.go", "package colour\n\nimport \"math/rand/v2\"\n\nfunc Any() int { return rand.IntN(6) }\n",
			[]string{"colour/chance.go uses math/rand/v2.IntN; times, seeds and settings come in as arguments there"}},
		{"old chance", "colour/chance.go", "package colour\n\nimport \"math/rand\"\n\nfunc Any() float64 { return rand.Float64() }\n",
			[]string{"colour/chance.go uses math/rand.Float64; times, seeds and settings come in as arguments there"}},
		{"true chance", "colour/chance.go", "package colour\n\nimport \"crypto/rand\"\n\nvar Any = rand.Reader\n",
			[]string{"colour/chance.go uses crypto/rand.Reader; times, seeds and settings come in as arguments there"}},
		{"chance unnamed", "colour/chance.go", "package colour\n\nimport . \"math/rand\"\n\nvar Any = Int\n",
			[]string{"colour/chance.go uses math/rand without its name; times, seeds and settings come in as arguments there"}},
		{"environment", "patterns/check/home.go", "package check\n\nimport \"os\"\n\nvar Home = os.Getenv(\"HOME\")\n",
			[]string{"patterns/check/home.go uses os.Getenv; times, seeds and settings come in as arguments there"}},
		{"arguments", "patterns/check/home.go", "package check\n\nimport \"os\"\n\nvar Name = os.Args[0]\n",
			[]string{"patterns/check/home.go uses os.Args; times, seeds and settings come in as arguments there"}},
		{"rehearsal by the clock", "patterns/rehearse/seed.go", "package main\n\nimport \"time\"\n\nvar seed = time.Now()\n",
			[]string{"patterns/rehearse/seed.go uses time.Now; times, seeds and settings come in as arguments there"}},
		{"test data", "colour/vectors.go", "package colour\n\nimport _ \"example.org/small/testdata\"\n", []string{"colour imports testdata outside its tests"}},
		{"top", "scripts/build.sh", "", []string{"scripts lies beside the five folders; the top holds colour, patterns, wasm, web, testdata, go.mod, go.sum, README.md, DEVELOPERS.md and names with a dot"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := maps.Clone(sound)
			files[c.file] = c.text
			faults, _, err := check(plant(t, files), soundFloors)
			if err != nil {
				t.Fatal(err)
			}
			if slices.Sort(c.want); !slices.Equal(faults, c.want) {
				t.Errorf("faults\n%s\nwant\n%s", strings.Join(faults, "\n"), strings.Join(c.want, "\n"))
			}
		})
	}
}

func TestFloorOfNothing(t *testing.T) {
	more := maps.Clone(soundFloors)
	more["web/gone"] = 3
	faults, _, err := check(plant(t, sound), more)
	if want := []string{"web/gone has a floor but is no package; take it off the list"}; err != nil || !slices.Equal(faults, want) {
		t.Errorf("faults %q, %v; want %q", faults, err, want)
	}
}

// Nothing to look at is a fault, not a success.
func TestEmpty(t *testing.T) {
	if _, _, err := check(plant(t, map[string]string{"go.mod": sound["go.mod"]}), nil); err == nil {
		t.Error("a module without packages passes")
	}
	if _, _, err := check(t.TempDir(), nil); err == nil {
		t.Error("a folder without a module passes")
	}
	broken := maps.Clone(sound)
	broken["colour/colour.go"] = "package colour\n\nfunc {\n"
	if _, _, err := check(plant(t, broken), soundFloors); err == nil {
		t.Error("a file that does not parse passes")
	}
}

// Where git keeps the files, only what it keeps counts.
func TestStraysKept(t *testing.T) {
	files := maps.Clone(sound)
	files["notes.txt"], files["kept.txt"] = "", ""
	root := plant(t, files)
	for _, args := range [][]string{{"init", "--quiet"}, {"add", "go.mod", "kept.txt", ".hidden", "colour"}} {
		c := exec.Command("git", args...)
		c.Dir = root
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("git %s: %v\n%s", args[0], err, out)
		}
	}
	faults, err := strays(root)
	if err != nil || len(faults) != 1 || !strings.HasPrefix(faults[0], "kept.txt lies beside") {
		t.Errorf("faults %q, %v; want one, of kept.txt", faults, err)
	}
}

// The lists themselves.
func TestList(t *testing.T) {
	for name, floor := range floors {
		if floor < 0 || floor > 9 {
			t.Errorf("%s is on floor %d; there are floors 0 to 9", name, floor)
		}
	}
	for _, s := range seeded {
		if floors[s] < pure {
			t.Errorf("%s is listed as seeded but must be pure by its floor", s)
		}
	}
	for _, f := range []string{"colour", "patterns", "wasm/app"} {
		if !within(f, sighted) {
			t.Errorf("%s counts as blind", f)
		}
	}
	if within("web/sealed", sighted) || within("web", sighted) {
		t.Error("a blind package counts as sighted")
	}
}
