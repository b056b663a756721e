package web

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"testing"
)

// stage stands in for a browser in which language.js is run: case by case, what it did is printed.
const stage = `
const fs = require("fs"), vm = require("vm");
const [script, cases] = [fs.readFileSync("inside/language.js", "utf8"), JSON.parse(fs.readFileSync(0, "utf8"))];
console.log(JSON.stringify(cases.map((c) => {
	const heard = {}, kept = c.kept ? { "plumb language": c.kept } : {}, did = {};
	const root = { dataset: { languages: c.there || "en de de-ch" }, lang: c.lang || "en", hidden: false };
	vm.runInNewContext(script, {
		document: { documentElement: root, addEventListener: (kind, f) => { heard[kind] = f; } },
		location: { pathname: c.path, search: c.search || "", hash: c.hash || "", replace: (to) => { did.to = to; } },
		navigator: { languages: c.asks || [] },
		localStorage: { getItem: (k) => { if (c.denied) throw new Error("denied"); return kept[k] ?? null; }, setItem: (k, v) => { if (c.denied) throw new Error("denied"); kept[k] = v; } },
		setTimeout: () => {},
	});
	if (c.press) {
		const link = { dataset: { language: c.press } };
		heard.click({ target: { closest: () => link } });
		heard.click({ target: { closest: () => null } });
		did.link = link.href;
		did.kept = kept["plumb language"] || "";
	}
	return { ...did, leaving: root.dataset.leaving || "" };
})));
`

func TestLanguageScript(t *testing.T) {
	type outcome struct {
		To, Leaving, Link, Kept string
	}
	cases := []struct {
		Path   string   `json:"path"`
		Search string   `json:"search"`
		Hash   string   `json:"hash"`
		Lang   string   `json:"lang"`
		There  string   `json:"there"`
		Asks   []string `json:"asks"`
		Kept   string   `json:"kept"`
		Denied bool     `json:"denied"`
		Press  string   `json:"press"`
		want   outcome
	}{
		{Path: "/", Asks: []string{"de-DE", "de", "en"}, want: outcome{To: "/de/", Leaving: "de"}},
		{Path: "/check", Search: "?length=short", Hash: "#1.secret", Asks: []string{"fr", "DE"}, want: outcome{To: "/de/check?length=short#1.secret", Leaving: "de"}},
		{Path: "/check/", Asks: []string{"de"}, want: outcome{To: "/de/check/", Leaving: "de"}},
		{Path: "/check", Asks: []string{"de-CH"}, want: outcome{To: "/de-ch/check", Leaving: "de-ch"}},
		{Path: "/check", Asks: []string{"de-AT"}, want: outcome{To: "/de/check", Leaving: "de"}},
		{Path: "/check", Asks: []string{"den"}},
		{Path: "/check", Asks: []string{"en-GB", "de"}},
		{Path: "/check", Asks: []string{"fr"}},
		{Path: "/de/check", Lang: "de", Asks: []string{"fr"}},
		{Path: "/de/check", Lang: "de", Asks: []string{"de"}},
		{Path: "/de/check", Lang: "de", Asks: []string{"en"}, want: outcome{To: "/check", Leaving: "en"}},
		{Path: "/de/", Lang: "de", Asks: []string{"en"}, want: outcome{To: "/", Leaving: "en"}},
		{Path: "/de", Lang: "de", Asks: []string{"en"}, want: outcome{To: "/", Leaving: "en"}},
		{Path: "/check", Asks: []string{"de"}, Kept: "en"},
		{Path: "/check", Asks: []string{"en"}, Kept: "de", want: outcome{To: "/de/check", Leaving: "de"}},
		{Path: "/check", Asks: []string{"en"}, Kept: "tlh"},
		{Path: "/check", Asks: []string{"de"}, Denied: true},
		{Path: "/de/nothing", Lang: "en", Asks: []string{"de"}}, // a host's one page for what is missing
		{Path: "/de//example.org/", Lang: "de", Asks: []string{"en"}, want: outcome{To: "/example.org/", Leaving: "en"}},
		{Path: "//example.org/", Asks: []string{"de"}, want: outcome{To: "/de/example.org/", Leaving: "de"}},
		{Path: "/de/check", Search: "?a=b", Hash: "#c", Lang: "de", Asks: []string{"de"}, Press: "en", want: outcome{Link: "/check?a=b#c", Kept: "en"}},
		{Path: "/r", Hash: "#1.secret", Asks: []string{"en"}, Press: "de", want: outcome{Link: "/de/r#1.secret", Kept: "de"}},
		{Path: "/r", Asks: []string{"de"}, Denied: true, Press: "de", want: outcome{Link: "/de/r"}},
	}
	in, err := json.Marshal(cases)
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command("node", "-e", stage)
	c.Stdin = bytes.NewReader(in)
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var got []outcome
	if err := json.Unmarshal(out, &got); err != nil || len(got) != len(cases) {
		t.Fatalf("%v: %s", err, out)
	}
	for i, c := range cases {
		if got[i] != c.want {
			t.Errorf("%s%s%s in %q, asked for %v, kept %q: %+v, want %+v", c.Path, c.Search, c.Hash, c.Lang, c.Asks, c.Kept, got[i], c.want)
		}
	}
}
