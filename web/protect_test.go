package web

import (
	"crypto/sha256"
	"encoding/base64"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// The policy lets through the scripts that stand inside pages, byte by byte (Content Security Policy Level 3, section 8.3), and no other.
func TestScriptsInsidePages(t *testing.T) {
	s, _ := site(t)
	found := map[string]bool{}
	for _, path := range []string{"/", "/check", "/proof", "/de/check", "/nothing"} {
		r := ask(s, "GET", path)
		policy := r.Header.Get("Content-Security-Policy")
		page := unsqueeze(t, "", r.Body)
		for _, m := range regexp.MustCompile(`(?s)<script([^>]*)>(.*?)</script>`).FindAllStringSubmatch(page, -1) {
			if m[2] == "" {
				if !strings.Contains(m[1], " src=") {
					t.Errorf("%s: an empty script", path)
				}
				continue
			}
			sum := sha256.Sum256([]byte(m[2]))
			digest := "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
			if found[digest] = true; !strings.Contains(policy, " "+digest+" ") {
				t.Errorf("%s: the policy has no %s, which is that of\n%s", path, digest, m[2])
			}
			if strings.Contains(m[2], "<") && regexp.MustCompile(`<(!--|/?script)`).MatchString(m[2]) {
				t.Errorf("%s: a script inside it can end early", path)
			}
		}
	}
	for _, d := range regexp.MustCompile(`'sha256-[^']*'`).FindAllString(policy, -1) {
		if !found[d] {
			t.Errorf("the policy lets through %s, which is on no page", d)
		}
	}
	if len(found) != 2 {
		t.Errorf("%d scripts stand inside pages, not the two that choose a language and ask for the program", len(found))
	}
}

// What is left of a script inside a page is what runs.
func TestWithin(t *testing.T) {
	for _, name := range []string{"language.js", "early.js"} {
		text := within(name)
		if strings.Contains(text, "\n//") || strings.HasPrefix(text, "//") || strings.Contains(text, "\n\n") || !strings.HasSuffix(text, "})();\n") {
			t.Errorf("%s:\n%s", name, text)
		}
		if lines := strings.Split(text, "\n"); !slices.Contains(lines, `"use strict";`) {
			t.Errorf("%s is not strict", name)
		}
	}
}
