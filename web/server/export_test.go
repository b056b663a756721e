package main

import (
	"bytes"
	"context"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"example.org/plumb/web"
)

var (
	address = regexp.MustCompile(`(?:href|src|action|data-program|data-words|data-looker|data-looker-boot)="(/[^"]*)"|url\("(/[^"]*)"\)`)
	added   = regexp.MustCompile(`<meta http-equiv="Content-Security-Policy" content="([^"]*)"><meta name="referrer" content="([^"]*)">`)
)

// The site as plain files answers what the server answers, page by page, and no link in it is dead.
func TestExport(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program")
	}
	root := small(t)
	t.Chdir(root)
	folder := filepath.Join(t.TempDir(), "there", "site")
	var out bytes.Buffer
	if err := export(context.Background(), config{export: folder}, &out, nobody); err != nil {
		t.Fatal(err)
	}
	own, err := builder{root: root}.gather(context.Background(), nobody)
	if err != nil {
		t.Fatal(err)
	}
	assets, err := web.Pack(own, nil)
	if err != nil {
		t.Fatal(err)
	}
	server, err := web.New(assets, web.Version(), nil)
	if err != nil {
		t.Fatal(err)
	}
	host := httptest.NewServer(http.FileServer(http.Dir(folder)))
	defer host.Close()
	pages := 0
	seen := map[string]bool{}
	for list := web.Paths(assets); len(list) > 0; list = list[1:] {
		u, err := url.Parse(list[0])
		if err != nil || seen[u.Path] {
			continue
		}
		seen[u.Path] = true
		want := httptest.NewRecorder()
		server.ServeHTTP(want, httptest.NewRequest("GET", list[0], nil))
		got, err := http.Get(host.URL + list[0])
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(got.Body)
		got.Body.Close()
		if err != nil || got.StatusCode != 200 || want.Code != 200 {
			t.Errorf("%s: %d, at the server %d, %v", list[0], got.StatusCode, want.Code, err)
			continue
		}
		if strings.HasPrefix(want.Header().Get("Content-Type"), "text/html") {
			pages++
			body = bared(t, list[0], body, want.Header())
		}
		if !bytes.Equal(body, want.Body.Bytes()) {
			t.Errorf("%s: %d bytes, at the server %d", list[0], len(body), want.Body.Len())
		}
		for _, m := range address.FindAllStringSubmatch(want.Body.String(), -1) {
			list = append(list, html.UnescapeString(m[1]+m[2]))
		}
	}
	for _, at := range []string{assets.Address(web.Program), assets.Address("atkinson-400.woff2")} {
		if !seen[at] {
			t.Errorf("%s was not looked at", at)
		}
	}
	// The pages for what is missing are more, one in each language.
	if line := out.String(); strings.Count(line, "\n") != 1 || !strings.Contains(line, folder) || !strings.Contains(line, fmt.Sprintf(" %d of them pages", pages+len(assets.Folders()))) || pages < 10 {
		t.Errorf("it says %q, and %d pages were looked at", line, pages)
	}
	for _, language := range assets.Folders() {
		lost := httptest.NewRecorder()
		server.ServeHTTP(lost, httptest.NewRequest("GET", language+"/nothing", nil))
		page, err := os.ReadFile(filepath.Join(folder, language, "404.html"))
		if err != nil {
			t.Fatal(err)
		}
		if page = bared(t, language+"/404.html", page, lost.Header()); !bytes.Equal(page, lost.Body.Bytes()) {
			t.Errorf("the page for what is missing in %q has %d bytes, at the server %d", language, len(page), lost.Body.Len())
		}
	}
	// A second time the folder holds something.
	if err := export(context.Background(), config{export: folder}, &out, nobody); err == nil || !strings.Contains(err.Error(), "name an empty folder") {
		t.Errorf("over another export: %v", err)
	}
}

// bared is a page as the server has it, made of one that says in itself what the server says in headers and that there is no mailbox.
func bared(t *testing.T, path string, page []byte, h http.Header) []byte {
	t.Helper()
	m := added.FindSubmatch(page)
	if m == nil {
		t.Errorf("%s: no policy in the page", path)
		return page
	}
	policy, referrer := html.UnescapeString(string(m[1])), html.UnescapeString(string(m[2]))
	if policy+"; frame-ancestors 'none'" != h.Get("Content-Security-Policy") || referrer != h.Get("Referrer-Policy") {
		t.Errorf("%s: the page says %q and %q, the headers %v", path, policy, referrer, h)
	}
	if before, _, _ := bytes.Cut(page, m[0]); bytes.Contains(before, []byte("<link")) || bytes.Contains(before, []byte("<script")) {
		t.Errorf("%s: the policy comes after what it is about", path)
	}
	const alone = ` data-post="none"`
	if carries := bytes.Contains(page, []byte("data-program=")); carries != bytes.Contains(page, []byte(alone)) {
		t.Errorf("%s: it carries the program (%v) and does not say that there is no mailbox, or the reverse", path, carries)
	}
	return bytes.Replace(bytes.Replace(page, m[0], nil, 1), []byte(alone), nil, 1)
}

func TestExportRefuses(t *testing.T) {
	folder := t.TempDir()
	write(t, filepath.Join(folder, "letters"), "dear")
	for at, want := range map[string]string{folder: "holds something", filepath.Join(folder, "letters"): "letters"} {
		var out bytes.Buffer
		if err := export(context.Background(), config{export: at}, &out, nobody); err == nil || !strings.Contains(err.Error(), want) || out.Len() > 0 {
			t.Errorf("into %s: %v, %q", at, err, out.String())
		}
	}
	if b, err := os.ReadFile(filepath.Join(folder, "letters")); err != nil || string(b) != "dear" {
		t.Errorf("what was there: %q, %v", b, err)
	}
}
