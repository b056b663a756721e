package main

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// records makes a folder of the records of testdata and of what lies beside them, and goes there.
func records(t *testing.T) {
	t.Helper()
	const from = "../../testdata/record"
	folder := t.TempDir()
	for _, name := range []string{"approved.txt", "back.txt", "changes.txt", "request.txt", "round.txt", "unchecked.txt"} {
		text, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			t.Fatal(err)
		}
		write(t, filepath.Join(folder, name), string(text))
		// The same text after a mail program.
		write(t, filepath.Join(folder, "mailed-"+name), strings.ReplaceAll(string(text), "\n", "\r\n"))
	}
	for name, text := range map[string]string{
		"dusk.jpg":      "the bytes of the orchard at dusk",
		"barn.png":      "the bytes of the barn, as PNG",
		"barn.tiff":     "the bytes of the barn, as TIFF",
		"brighter.png":  "the bytes of the barn, brighter",
		"report.json":   "the bytes of the report of the kitchen laptop",
		"model.bin":     "the bytes of the model of the kitchen laptop",
		"other.json":    "the bytes of the report of studio left",
		"large.bin":     strings.Repeat("a", 1<<20),
		"later.txt":     "plumb record 2\n",
		"signed-by.txt": strings.Replace(read(t, filepath.Join(folder, "approved.txt")), `name "Tomas"`, `name "Tomos"`, 1),
		"asked-by.txt":  strings.Replace(read(t, filepath.Join(folder, "approved.txt")), `from "Ines"`, `from "Inez"`, 1),
	} {
		write(t, filepath.Join(folder, name), text)
	}
	t.Chdir(folder)
}

func read(t *testing.T, file string) string {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// A record says in words what was decided, on which screen, what that hid, and what of it was compared.
func TestVerify(t *testing.T) {
	records(t)
	for _, c := range []struct {
		files []string
		says  []string
		not   string
	}{
		{[]string{"changes.txt", "dusk.jpg", "barn.tiff", "request.txt", "report.json", "model.bin"}, []string{
			"changes.txt stands: ", "Decided by      Tomas\n", "On the whole    changes asked\n", "round 1", `"kitchen laptop"`, "light and shade, which holds\n",
			`Picture 1 of 2  "orchard at dusk.jpg": approved`, `Picture 2 of 2  "barn – Äpfel 🍎.tiff": changes asked`, "not seen, detail in shadows: 210 of 1000 pixels (188 to 233)\n",
			`note at 1480,902: The "hinge" cannot be made out.`, "note at 0,0, 3000 x 2000: All of it is too dark.",
			"\ndusk.jpg is picture 1 as it was sent.\n", "\nbarn.tiff is the file that picture 2 was made from.\n", "\nrequest.txt is the request.\n", "\nreport.json is the report of the screen.\n", "\nmodel.bin is the model of the screen.\n",
			"no such file was given: picture 2 as it was sent.\n", "\nAsked with the key   2bffbfd4", "\nDecided with the key 0c8ce86a",
		}, "Replaces"},
		{[]string{"approved.txt", "dusk.jpg", "brighter.png", "report.json", "model.bin", "changes.txt", "request.txt", "round.txt", "back.txt", "approved.txt"}, []string{
			"On the whole    approved\n", "Replaces        the record with SHA-256 0781c5ea", "\nchanges.txt is the record that this one replaces.\n", "\nrequest.txt is the request of the round before.\n",
			"\nround.txt is the request.\n", "\nback.txt is a later record, which replaces this one.\n", "\napproved.txt is the record itself.\n", "the mailbox told no time", "Approval        covers what the screen could show, and not what is listed as not seen\n",
		}, "Not compared"},
		{[]string{"unchecked.txt"}, []string{
			"Decided by      Okke\n", "On the whole    approved\n", "Screen          unchecked: what it hid is not known\n", "Asked of it     nothing\n", "2026-11-28 22:10:01 UTC by the mailbox's",
			"Approval        covers what was on a screen that nobody checked\n", "what the screen hid is not known\n", "no such file was given: picture 1 as it was sent, picture 2 as it was sent.\n", "Asked           without a title, from Ines",
		}, "not seen"},
		{[]string{"back.txt"}, []string{"On the whole    undecided\n", "Replaces ", "Asked of it     light and shade, and it was not checked\n"}, ": approved"},
	} {
		out, err := obeyed(t, append([]string{"verify"}, c.files...)...)
		if err != nil {
			t.Errorf("%v: %v", c.files, err)
		}
		for _, s := range c.says {
			if !strings.Contains(out, s) {
				t.Errorf("%v: it does not say %q:\n%s", c.files, s, out)
			}
		}
		if strings.Contains(out, c.not) {
			t.Errorf("%v: it says %q:\n%s", c.files, c.not, out)
		}
	}
}

// What does not stand is told with its reason and with what to do, and of a record that does not stand nothing else is told.
func TestVerifyRefuses(t *testing.T) {
	records(t)
	for _, c := range []struct {
		files []string
		out   string // "" for none
		err   string
	}{
		{[]string{"missing.txt"}, "", "missing.txt"},
		{[]string{"."}, "", "cannot read"},
		{[]string{"dusk.jpg", "approved.txt"}, "", "dusk.jpg does not stand: record: not laid out as its version says"},
		{[]string{"large.bin"}, "", "name the record first"},
		{[]string{"round.txt"}, "", "is a request, in which nothing is decided"},
		{[]string{"mailed-approved.txt"}, "", "take the file as it was saved"},
		{[]string{"later.txt"}, "", "a later version of this program"},
		{[]string{"signed-by.txt", "dusk.jpg"}, "", "the signature of who decided does not fit the text; it was changed after it was signed"},
		{[]string{"asked-by.txt"}, "", "the signature of who asked does not fit the request; it was changed after it was signed"},
		{[]string{"approved.txt", "dusk.jpg", "barn.png"}, "barn.png is nothing that the record names", "barn.png does not stand beside approved.txt"},
		{[]string{"approved.txt", "other.json", "report.json"}, "other.json is nothing that the record names", "other.json does not stand beside approved.txt"},
		{[]string{"unchecked.txt", "report.json"}, "report.json is nothing that the record names", "report.json does not stand beside unchecked.txt"},
		{[]string{"approved.txt", "missing.jpg", "large.bin"}, "missing.jpg cannot be read", "missing.jpg, large.bin do not stand beside approved.txt"},
		{[]string{"approved.txt", "unchecked.txt"}, "unchecked.txt is a record that was signed with another key", "unchecked.txt does not stand beside approved.txt"},
		{[]string{"back.txt", "signed-by.txt"}, "signed-by.txt does not stand: record: the signature of who decided", "signed-by.txt does not stand beside back.txt"},
		{[]string{"changes.txt", "back.txt"}, "back.txt is nothing that the record names", "back.txt does not stand beside changes.txt"},
		{[]string{"approved.txt", "."}, ". cannot be read", ". does not stand beside approved.txt"},
	} {
		out, err := obeyed(t, append([]string{"verify"}, c.files...)...)
		if err == nil || !strings.Contains(err.Error(), c.err) || !strings.HasPrefix(err.Error(), "server: verify: ") {
			t.Errorf("%v: %v", c.files, err)
		}
		if c.out == "" && out != "" || !strings.Contains(out, c.out) {
			t.Errorf("%v: it says %q", c.files, out)
		}
	}
	if _, err := configure([]string{"verify"}, func(string) string { return "" }); err == nil || !strings.Contains(err.Error(), "a record has to be named") {
		t.Errorf("without a file: %v", err)
	}
}

// The exit status is 0 only if all stands.
func TestVerifyStatus(t *testing.T) {
	records(t)
	for status, args := range map[int][]string{
		0: {"verify", "approved.txt", "dusk.jpg"},
		1: {"verify", "approved.txt", "barn.png"},
		2: {"verify"},
	} {
		p := exec.Command(os.Args[0], args...)
		p.Env = append(os.Environ(), asServer+"=1", "PLUMB_ADDR=", "PLUMB_DATA=")
		var out, log bytes.Buffer
		p.Stdout, p.Stderr = &out, &log
		err := p.Run()
		var exit *exec.ExitError
		if status == 0 && err != nil || status > 0 && (!errors.As(err, &exit) || exit.ExitCode() != status) {
			t.Errorf("%v ends with %v", args, err)
		}
		if (status == 0) != (log.Len() == 0) || (status == 2) != (out.Len() == 0) {
			t.Errorf("%v says %q and %q", args, &out, &log)
		}
	}
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.IsDir() {
			t.Errorf("it made %s", e.Name())
		}
	}
}
