//go:build !js

package record

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// secondAsk is a text for verify.mjs: a request without Beside, a record with it.
type secondAsk struct {
	Text   []byte        `json:"text"`
	Beside *secondBeside `json:"beside,omitempty"`
}

type secondBeside struct {
	Place    string            `json:"place,omitempty"`
	Asker    string            `json:"asker,omitempty"`
	Signer   string            `json:"signer,omitempty"`
	Earlier  string            `json:"earlier,omitempty"`
	Request  []byte            `json:"request,omitempty"`
	Pictures map[string][]byte `json:"pictures,omitempty"`
	Report   []byte            `json:"report,omitempty"`
	Model    []byte            `json:"model,omitempty"`
}

func askSecond(t *testing.T, ask []secondAsk) (said []string) {
	t.Helper()
	given, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	node := exec.Command("node", "verify.mjs")
	node.Stdin = bytes.NewReader(given)
	var trouble bytes.Buffer
	node.Stderr = &trouble
	out, err := node.Output()
	if err != nil {
		t.Fatalf("node: %v\n%s", err, &trouble)
	}
	if err := json.Unmarshal(out, &said); err != nil || len(said) != len(ask) {
		t.Fatalf("%d answers to %d texts, %v", len(said), len(ask), err)
	}
	return said
}

// A reader that was written from the documentation alone, over another program's signatures and digests, takes and refuses the same, for the same reasons.
func TestSecondOpinion(t *testing.T) {
	texts, list := stored(t)
	var ask []secondAsk
	for _, v := range list {
		a := secondAsk{Text: v.text(t, texts)}
		if !isRequest(v.Of) || bytes.HasPrefix(a.Text, []byte("plumb record ")) {
			a.Beside = &secondBeside{}
			if b := v.Beside; b != nil {
				*a.Beside = secondBeside{Place: b.Place, Asker: b.Asker, Signer: b.Signer, Earlier: b.Earlier, Request: texts[b.Request], Report: []byte(b.Report), Model: []byte(b.Model)}
				a.Beside.Pictures = map[string][]byte{}
				for at, text := range b.Pictures {
					a.Beside.Pictures[at] = []byte(text)
				}
			}
		}
		ask = append(ask, a)
	}
	for i, said := range askSecond(t, ask) {
		if said != list[i].Error {
			t.Errorf("%s: %q, not %q", list[i].Name, said, list[i].Error)
		}
	}
}

// The second reader refuses every text with a byte changed, too, for the reason that this package has.
func TestSecondEveryByte(t *testing.T) {
	texts, _ := stored(t)
	var ask []secondAsk
	var want []error
	for _, name := range []string{"changes.txt", "unchecked.txt", "request.txt"} {
		for i := range texts[name] {
			other := bytes.Clone(texts[name])
			other[i] ^= 1
			a := secondAsk{Text: other}
			var err error
			if isRequest(name) {
				_, err = ReadRequest(other)
			} else {
				a.Beside = &secondBeside{}
				_, err = Read(other)
			}
			ask, want = append(ask, a), append(want, plain(err))
		}
	}
	for i, said := range askSecond(t, ask) {
		if said == "" || all[said] != want[i] {
			t.Errorf("text %d: %q, here %v", i, said, want[i])
		}
	}
}

// The commands of the package comment say what they are said to say.
func TestShell(t *testing.T) {
	for _, tool := range []string{"sh", "sed", "xxd", "openssl"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip("needs ", tool)
		}
	}
	const commands = `set -e
(printf 'plumb/record/1\n'; sed '$d' R) > signed
sed -n '$s/^signature //p' R | xxd -r -p > signature
(printf 302a300506032b6570032100; tail -n 2 R | sed -n 's/^signer //p') | xxd -r -p > key
openssl pkeyutl -verify -pubin -keyform DER -inkey key -rawin -in signed -sigfile signature
`
	doc, err := os.ReadFile("record.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range bytes.SplitAfter([]byte(commands), []byte("\n"))[1:5] {
		if !bytes.Contains(doc, append([]byte("//\t"), line...)) {
			t.Errorf("the package comment does not have %s", line)
		}
	}
	texts, _ := stored(t)
	run := func(text []byte) error {
		folder := t.TempDir()
		if err := os.WriteFile(filepath.Join(folder, "R"), text, 0o644); err != nil {
			t.Fatal(err)
		}
		sh := exec.Command("sh", "-c", commands)
		sh.Dir = folder
		out, err := sh.CombinedOutput()
		t.Logf("%s", out)
		return err
	}
	if err := run(texts["approved.txt"]); err != nil {
		t.Error(err)
	}
	if run(bytes.Replace(texts["approved.txt"], []byte("Tomas"), []byte("Tomos"), 1)) == nil {
		t.Error("a changed record fits its signature")
	}
}
