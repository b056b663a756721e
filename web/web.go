// The site itself is left out where the host serves it from files.

//go:build !js

package web

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"github.com/a-h/templ"

	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// Names of the assets that make up the browser programs, beside those that Own has.
const (
	Program = "plumb.wasm"   // the browser program
	Plain   = "check.wasm"   // the same without what is done with pictures, for pages that check a screen
	Looker  = "looker.wasm"  // the program that looks at pictures, in a worker
	Runtime = "wasm_exec.js" // the script that lets Go run in a browser, of the Go release that built the program
)

// ProgramFlags are the flags of go build that the browser programs are built with, here and wherever its size is measured. Code of the standard library is
// called and not copied into its callers, and so is that of pages, records, letters and the program's own steps: the copies make the program a tenth larger after compression, and
// no loop that matters is made of them. What paints, judges and looks at pictures is left to the compiler.
var ProgramFlags = append([]string{"-trimpath", "-ldflags=-s -w"}, called("std", "github.com/a-h/templ/...", "rsc.io/...", "example.org/plumb/wasm/...", "example.org/plumb/patterns/plates",
	"example.org/plumb/patterns/report", "example.org/plumb/web/pages", "example.org/plumb/web/words", "example.org/plumb/web/record", "example.org/plumb/web/seal", "example.org/plumb/web/link",
	"example.org/plumb/web/carry", "example.org/plumb/web/mailbox/...")...)

// called are flags of go build by which the functions of packages are called and never copied.
func called(packages ...string) (flags []string) {
	for _, p := range packages {
		flags = append(flags, "-gcflags="+p+"=-l")
	}
	return flags
}

// PlainFlag is one more flag, with which the browser program is built without what is done with pictures.
const PlainFlag = "-tags=plain"

// carried is every page that has an address, by its path in English. In another language it has its path in a folder that is called as the language.
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

// Paths returns the addresses that a site with these assets answers beside them: those of its pages in each language, and what a machine may ask.
func Paths(a Assets) []string {
	list := []string{"/healthz", "/version", Offline}
	for _, folder := range a.Folders() {
		list = append(list, folder+Manifest)
		for path := range maps.Keys(carried) {
			list = append(list, folder+path)
		}
	}
	slices.Sort(list)
	return list
}

// New returns the site. Version is what /version answers and pages show. A page refers to an asset that is not among assets by its bare name
// under /assets/, for a host that serves them itself; without the browser program the check's page says that it could not be loaded.
// Pages are rendered once, here, in English and in each language among the assets, and squeezed by c; c may be nil.
func New(assets Assets, version string, c Compressor) (http.Handler, error) {
	site := pages.Site{
		Look:        assets.Address("look.css"),
		Stage:       assets.Address("stage.css"),
		After:       assets.Address("after.css"),
		Type:        []string{assets.Address("atkinson-400.woff2"), assets.Address("atkinson-600.woff2")},
		Icon:        assets.Address("icon.svg"),
		Runtime:     assets.Address(Runtime),
		Early:       within("early.js"),
		Boot:        assets.Address("boot.js"),
		Program:     assets.Address(Program),
		ProgramSize: assets.Size(Program),
		Plain:       assets.Address(Plain),
		PlainSize:   assets.Size(Plain),
		Looker:      assets.Address(Looker),
		LookerBoot:  assets.Address("looker.js"),
		TourRecord:  assets.Address("orchard-record.txt"),
		Keep:        assets.Address("keep.js"),
		Language:    within("language.js"),
		Version:     version,
	}
	spoken, err := assets.languages()
	if err != nil {
		return nil, err
	}
	for _, l := range spoken {
		site.Languages = append(site.Languages, pages.Language{Tag: l.tag(), Name: l.name()})
	}
	s := &server{mux: http.NewServeMux(), refusals: map[string]refusals{}}
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
	for _, l := range spoken {
		site.Words, site.Manifest = l.address, l.folder+Manifest
		err := l.speak(func() error {
			for path, page := range carried {
				text, err := pages.HTML(page(site))
				if err != nil {
					return fmt.Errorf("web: page %s: %w", l.folder+path, err)
				}
				texts[l.folder+path] = []byte(text)
			}
			about, err := manifest(assets, l)
			if err != nil {
				return err
			}
			if s.refusals[l.folder], err = refuse(site); err != nil {
				return err
			}
			return afresh(site.Manifest, site.Manifest, about)
		})
		if err != nil {
			return nil, err
		}
		if l.folder != "" {
			s.mux.Handle("GET "+l.folder, http.RedirectHandler(l.folder+"/", http.StatusPermanentRedirect))
		}
	}
	for path, text := range texts {
		if strings.HasSuffix(path, "/") {
			path += "{$}"
		}
		if err := afresh(path, "page.html", text); err != nil {
			return nil, err
		}
	}
	script, err := keeper(assets, texts)
	if err != nil {
		return nil, err
	}
	if err := afresh(Offline, Offline, script); err != nil {
		return nil, err
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
	mux      *http.ServeMux
	refusals map[string]refusals // by the folder of the language
}

// refusals are the pages that say in one language why there is nothing.
type refusals struct{ missing, method string }

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
		answer(w, r, http.StatusMethodNotAllowed, s.in(r).method)
		return
	}
	answer(w, r, http.StatusNotFound, s.in(r).missing)
}

// in is what is said in the language of a request's address.
func (s *server) in(r *http.Request) refusals {
	first, _, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if in, ok := s.refusals["/"+first]; ok {
		return in
	}
	return s.refusals[""]
}

// refuse makes the pages that say why there is nothing, in the language spoken.
func refuse(site pages.Site) (r refusals, err error) {
	if r.method, err = pages.HTML(pages.PlainPage(site, pages.Plain{
		Title: words.Say("That can't be done here"),
		What:  words.Say("This address can be read, but nothing can be put to it."),
		Do:    words.Say("Nothing was changed. Open it by its link instead."),
	})); err == nil {
		r.missing, err = pages.HTML(pages.PlainPage(site, pages.Plain{
			Title: words.Say("There is nothing at this address"),
			What:  words.Say("It may be mistyped, or belong to another version of Plumb."),
			Do:    words.Say("Whatever was answered in a sitting is kept in your browser and not lost."),
		}))
	}
	if err != nil {
		return r, fmt.Errorf("web: %w", err)
	}
	return r, nil
}

// answer answers with a page and a status.
func answer(w http.ResponseWriter, r *http.Request, status int, text string) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Length", strconv.Itoa(len(text)))
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		io.WriteString(w, text)
	}
}

func plain(w http.ResponseWriter, kind, text string) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Length", strconv.Itoa(len(text)))
	h.Set("Cache-Control", "no-store")
	w.Write([]byte(text)) // the server drops the body of an answer to HEAD
}
