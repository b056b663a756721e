// The site itself is left out where the host serves it from files.

//go:build !js

package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"runtime"
	"slices"
	"strconv"

	"github.com/a-h/templ"

	"example.org/plumb/web/pages"
)

// Names of the assets that make up the browser programs, beside those that Own has.
const (
	Program = "plumb.wasm"   // the browser program
	Plain   = "check.wasm"   // the same without what is done with pictures, for pages that check a screen
	Looker  = "looker.wasm"  // the program that looks at pictures, in a worker
	Runtime = "wasm_exec.js" // the script that lets Go run in a browser, of the Go release that built the program
)

// ProgramFlags are the flags of go build that the browser programs are built with, here and wherever its size is measured. Code of the standard library is
// called and not copied into its callers, and so is that of pages and of the program's own steps: the copies make the program a tenth larger after compression, and no
// loop that matters is made of them. What paints, judges and looks at pictures is left to the compiler.
var ProgramFlags = []string{
	"-trimpath", "-ldflags=-s -w", "-gcflags=std=-l", "-gcflags=github.com/a-h/templ/...=-l", "-gcflags=example.org/plumb/web/pages=-l", "-gcflags=example.org/plumb/wasm/...=-l",
}

// PlainFlag is one more flag, with which the browser program is built without what is done with pictures.
const PlainFlag = "-tags=plain"

// carried is every page that has an address.
var carried = map[string]func(pages.Site) templ.Component{
	"/":        pages.Start,
	"/check":   pages.Check,
	"/ask":     pages.Ask,
	"/desk":    pages.Desk,
	"/r":       pages.Requested,
	"/proof":   pages.Proof,
	"/record":  pages.Records,
	"/after":   pages.AfterCalibrating,
	"/journal": pages.JournalPage,
	"/pattern": pages.Patterns,
	"/method":  pages.MethodPage,
	"/example": pages.ExamplePage,
	"/tour":    pages.TourPage,
}

// Paths returns the addresses that a site answers beside its assets: those of its pages, and what a machine may ask.
func Paths() []string {
	return append(slices.Sorted(maps.Keys(carried)), "/healthz", "/version", Offline, Manifest)
}

// New returns the site. Version is what /version answers and pages show. A page refers to an asset that is not among assets by its bare name
// under /assets/, for a host that serves them itself; without the browser program the check's page says that it could not be loaded.
// Pages are rendered once, here, and squeezed by c; c may be nil.
func New(assets Assets, version string, c Compressor) (http.Handler, error) {
	site := pages.Site{
		Look:        assets.Address("look.css"),
		Sitting:     assets.Address("sitting.css"),
		Proof:       assets.Address("proof.css"),
		After:       assets.Address("after.css"),
		Type:        []string{assets.Address("atkinson-400.woff2"), assets.Address("atkinson-600.woff2")},
		Icon:        assets.Address("icon.svg"),
		Runtime:     assets.Address(Runtime),
		Boot:        assets.Address("boot.js"),
		Program:     assets.Address(Program),
		ProgramSize: assets.Size(Program),
		Plain:       assets.Address(Plain),
		PlainSize:   assets.Size(Plain),
		Looker:      assets.Address(Looker),
		LookerBoot:  assets.Address("looker.js"),
		TourRecord:  assets.Address("orchard-record.txt"),
		Keep:        assets.Address("keep.js"),
		Manifest:    Manifest,
		Version:     version,
	}
	s := &server{site: site, mux: http.NewServeMux()}
	// afresh serves a text that is asked for anew each time; it is squeezed once, here.
	afresh := func(path, name string, text []byte) error {
		b, err := pack(name, text, c)
		if err != nil {
			return err
		}
		b.keep = "no-cache"
		s.mux.Handle("GET "+path, b)
		return nil
	}
	texts := map[string][]byte{}
	for path, page := range carried {
		text, err := render(page(site))
		if err != nil {
			return nil, fmt.Errorf("web: page %s: %w", path, err)
		}
		texts[path] = text
		if path == "/" {
			path = "/{$}"
		}
		if err := afresh(path, "page.html", text); err != nil {
			return nil, err
		}
	}
	script, err := keeper(assets, texts)
	if err != nil {
		return nil, err
	}
	about, err := manifest(assets)
	if err != nil {
		return nil, err
	}
	for path, text := range map[string][]byte{Offline: script, Manifest: about} {
		if err := afresh(path, path, text); err != nil {
			return nil, err
		}
	}
	s.mux.HandleFunc("GET /assets/{rest...}", func(w http.ResponseWriter, r *http.Request) {
		if b := assets.at[r.URL.Path]; b != nil {
			b.ServeHTTP(w, r)
			return
		}
		s.missing(w, r)
	})
	s.mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, r *http.Request) { plain(w, "text/plain; charset=utf-8", "live\n") })
	built, err := json.Marshal(struct {
		Version string `json:"version"`
		Program string `json:"program,omitempty"` // SHA-256 of the browser program as decoded
		Plain   string `json:"plain,omitempty"`   // of the one without pictures
		Looker  string `json:"looker,omitempty"`  // and of the one that looks at pictures
		Go      string `json:"go"`                // the release of Go that builds these very bytes
	}{version, assets.Digest(Program), assets.Digest(Plain), assets.Digest(Looker), runtime.Version()})
	if err != nil {
		return nil, fmt.Errorf("web: version: %w", err)
	}
	s.mux.HandleFunc("GET /version", func(w http.ResponseWriter, r *http.Request) { plain(w, "application/json", string(built)+"\n") })
	s.mux.HandleFunc("/", s.missing)
	return s, nil
}

type server struct {
	site pages.Site
	mux  *http.ServeMux
}

func (s *server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	protect(w.Header())
	s.mux.ServeHTTP(w, r)
}

// missing answers where there is nothing, or nothing for this method.
func (s *server) missing(w http.ResponseWriter, r *http.Request) {
	asGet := r.Clone(r.Context())
	asGet.Method = http.MethodGet
	if _, pattern := s.mux.Handler(asGet); r.Method != http.MethodGet && r.Method != http.MethodHead && pattern != "/" {
		w.Header().Set("Allow", "GET, HEAD")
		s.say(w, r, http.StatusMethodNotAllowed, pages.Plain{
			Title: "That can't be done here",
			What:  "This address can be read, but nothing can be put to it.",
			Do:    "Nothing was changed. Open it by its link instead.",
		})
		return
	}
	s.say(w, r, http.StatusNotFound, pages.Plain{
		Title: "There is nothing at this address",
		What:  "It may be mistyped, or belong to another version of Plumb.",
		Do:    "Whatever was answered in a sitting is kept in your browser and not lost.",
	})
}

// say answers with a page of words and a status.
func (s *server) say(w http.ResponseWriter, r *http.Request, status int, p pages.Plain) {
	text, err := render(pages.PlainPage(s.site, p))
	if err != nil {
		text = []byte(p.Title)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Length", strconv.Itoa(len(text)))
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		w.Write(text)
	}
}

func plain(w http.ResponseWriter, kind, text string) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Length", strconv.Itoa(len(text)))
	h.Set("Cache-Control", "no-store")
	w.Write([]byte(text)) // the server drops the body of an answer to HEAD
}

func render(c templ.Component) ([]byte, error) {
	var b bytes.Buffer
	err := c.Render(context.Background(), &b)
	return b.Bytes(), err
}
