package main

import (
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/plumb/web"
)

func TestConfigure(t *testing.T) {
	plain := settings{name: "plumb", bucket: "plumb-parcels", limit: 5_000_000_000, rate: 40}
	if got, err := configure(nil); err != nil || got != plain {
		t.Errorf("%+v, %v; want %+v", got, err, plain)
	}
	want := settings{folder: "there", name: "orchard", database: "1-2-3", bucket: "crates", limit: 7, rate: 3}
	if got, err := configure([]string{"-o", "there", "-name=orchard", "-database", "1-2-3", "-bucket", "crates", "-limit", "7", "-rate=3"}); err != nil || got != want {
		t.Errorf("%+v, %v; want %+v", got, err, want)
	}
	for _, args := range [][]string{{"there"}, {"-name", ""}, {"-bucket="}, {"-limit", "0"}, {"-limit", "9007199254740993"}, {"-rate", "0"}, {"-limit", "much"}, {"-port", "80"}} {
		if got, err := configure(args); err == nil || !strings.HasPrefix(err.Error(), "build: ") || got != (settings{}) {
			t.Errorf("%v: %+v, %v", args, got, err)
		}
	}
}

func TestConfiguration(t *testing.T) {
	for database, want := range map[string]string{"": "local", "1-2-3": "1-2-3"} {
		b, err := configuration(settings{name: "orchard", database: database, bucket: "crates", limit: 7, rate: 3})
		if err != nil {
			t.Fatal(err)
		}
		var c struct {
			Name      string `json:"name"`
			Main      string `json:"main"`
			Databases []struct {
				ID         string `json:"database_id"`
				Migrations string `json:"migrations_dir"`
			} `json:"d1_databases"`
			Buckets []struct {
				Bucket string `json:"bucket_name"`
			} `json:"r2_buckets"`
			Vars          map[string]string `json:"vars"`
			Observability map[string]bool   `json:"observability"`
		}
		if err := json.Unmarshal(b, &c); err != nil {
			t.Fatal(err)
		}
		if c.Name != "orchard" || c.Main != "worker.mjs" || c.Databases[0].ID != want || c.Databases[0].Migrations != "migrations" || c.Buckets[0].Bucket != "crates" ||
			c.Vars["LIMIT"] != "7" || c.Vars["RATE"] != "3" {
			t.Errorf("%s", b)
		}
		if on, told := c.Observability["enabled"]; on || !told {
			t.Errorf("the host would log the addresses of boxes: %s", b)
		}
	}
}

func TestSite(t *testing.T) {
	own := web.Own()
	own[web.Program], own[web.Plain], own[web.Looker], own[web.Runtime] = []byte("a program"), []byte("a lesser one"), []byte("another"), []byte("a script")
	files, err := site(own)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"index.html", "method.html", "r.html", "404.html", "de/index.html", "de/r.html", "de/404.html", "de/plumb.webmanifest", "healthz", "version"} {
		if len(files[name]) == 0 {
			t.Errorf("%s is not there", name)
		}
	}
	if string(files["healthz"]) != "live\n" || !strings.Contains(string(files["404.html"]), "nothing at this address") {
		t.Errorf("healthz: %q", files["healthz"])
	}
	if !strings.Contains(string(files["_headers"]), "\n/de/r\n") {
		t.Errorf("the host is told nothing of pages in another language:\n%s", files["_headers"])
	}
	assets := 0
	for name := range files {
		if strings.HasPrefix(name, "assets/") {
			assets++
		}
	}
	if assets != len(own) {
		t.Errorf("%d assets of %d", assets, len(own))
	}
}

func TestRules(t *testing.T) {
	header := func(kind, keep string) http.Header {
		return http.Header{"Content-Type": {kind}, "Cache-Control": {keep}, "X-Content-Type-Options": {"nosniff"}, "Etag": {`"x"`}}
	}
	got := string(rules(map[string]http.Header{
		"/": header("text/html", "no-cache"), "/version": header("application/json", "no-store"),
		"/assets/1/a.css": header("text/css", "for ever"), "/assets/2/b.js": header("text/javascript", "for ever"),
	}))
	want := "/*\n  X-Content-Type-Options: nosniff\n/\n  Cache-Control: no-cache\n  Content-Type: text/html\n/assets/*\n  Cache-Control: for ever\n" +
		"/version\n  Cache-Control: no-store\n  Content-Type: application/json\n"
	if got != want {
		t.Errorf("rules:\n%s\nwant:\n%s", got, want)
	}
}

func TestWrite(t *testing.T) {
	to := filepath.Join(t.TempDir(), "a", "b")
	for _, name := range []string{"old", "new"} {
		files := map[string][]byte{filepath.Join(name, "page"): []byte(name)}
		for _, m := range marks {
			files[m] = nil
		}
		if err := write(to, files); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := os.Stat(filepath.Join(to, "old")); !os.IsNotExist(err) {
		t.Error("what an earlier run wrote is still there")
	}
	if b, err := os.ReadFile(filepath.Join(to, "new", "page")); err != nil || string(b) != "new" {
		t.Errorf("%q, %v", b, err)
	}
	mine := t.TempDir()
	for _, name := range []string{"letters", config, "worker.wasm"} {
		if err := os.WriteFile(filepath.Join(mine, name), []byte("dear"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := write(mine, map[string][]byte{config: []byte("{}")}); err == nil || !strings.Contains(err.Error(), "holds something else") {
		t.Errorf("into a folder of another: %v", err)
	}
	if b, err := os.ReadFile(filepath.Join(mine, "letters")); err != nil || string(b) != "dear" {
		t.Errorf("what was there: %q, %v", b, err)
	}
}
