package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web"
	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/metrics/metricstest"
)

// Every route is asked with marked secrets in all that a request can carry, for what it is for and wrongly. What the server logs, every request included, and what it counts
// tells none of them, and no client.
func TestLog(t *testing.T) {
	if testing.Short() {
		t.Skip("starts servers")
	}
	for _, form := range []string{"text", "json"} {
		t.Run(form, func(t *testing.T) { logs(t, form) })
	}
}

func logs(t *testing.T, form string) {
	root := small(t)
	folder := filepath.Join(root, "letters")
	p := start(t, root, "-data", folder, "-proxy", "-requests", "-log", form, "-metrics", "127.0.0.1:0")
	line, err := p.lines.ReadString('\n')
	counts, ok := strings.CutPrefix(strings.TrimSpace(line), "Metrics are at ")
	if err != nil || !ok {
		t.Fatalf("it prints %q, %v", line, err)
	}
	c := newClient()
	defer c.CloseIdleConnections()
	at, right, wrong := mailboxtest.NewAddress(), mailboxtest.NewRight(), mailboxtest.NewRight()
	letter, parcel, owner := mailboxtest.NewID(), mailboxtest.NewID(), right.Owner()
	word := []byte("Conference-pears-are-too-green")
	const client, agent, from, cookie, query = "203.0.113.77", "Marked-Browser", "marked.example", "marked-cookie", "marked-query"
	secrets := map[string][]byte{
		"the address": at[:], "the right": right[:], "a wrong right": wrong[:], "the owner": owner[:], "a letter's name": letter[:], "a parcel's name": parcel[:], "a word": word,
		"a client": []byte(client), "a browser": []byte(agent), "where it came from": []byte(from), "a cookie": []byte(cookie), "a query": []byte(query), "the line's other end": []byte("127.0.0.1:"),
	}
	ask := func(method, path, body string, header ...string) *http.Response {
		t.Helper()
		r, err := http.NewRequest(method, p.origin+path, strings.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		for name, value := range map[string]string{"X-Forwarded-For": client, "User-Agent": agent, "Referer": "https://" + from + "/", "Cookie": cookie + "=1"} {
			r.Header.Set(name, value)
		}
		for i := 0; i < len(header); i += 2 {
			r.Header.Set(header[i], header[i+1])
		}
		a, err := c.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(a.Body)
		a.Body.Close()
		if a.StatusCode == http.StatusOK && strings.HasPrefix(a.Header.Get("Content-Type"), "text/html") {
			for _, m := range regexp.MustCompile(`(?:href|src)="(/assets/[^"]*)"`).FindAllSubmatch(b, 1) {
				if a, err := c.Get(p.origin + string(m[1])); err == nil {
					a.Body.Close()
				}
			}
		}
		return a
	}
	expires := time.Now().Add(48 * time.Hour).UTC().Format("2006-01-02")
	box := mailbox.Root + at.String()
	mine := []string{"Authorization", mailbox.Bearer + right.Text()}
	other := []string{"Authorization", mailbox.Bearer + wrong.Text()}
	opening := []string{mailbox.OwnerHeader, owner.String(), mailbox.ExpiresHeader, expires}
	// The routes of the mailbox, as far as its protocol goes: each as it is meant, then wrongly.
	routes := []struct {
		route, method, path, body string
		header                    []string
		status                    int
	}{
		{"PUT {address}", "PUT", "", "", opening, 200},
		{"GET {address}", "GET", "", "", mine, 200},
		{"PUT {address}/letters/{id}", "PUT", "/letters/" + letter.String(), string(word), nil, 200},
		{"GET {address}/letters", "GET", "/letters?after=0&limit=3", "", nil, 200},
		{"PUT {address}/parcels/{id}/{place}", "PUT", "/parcels/" + parcel.String() + "/0", string(word), nil, 200},
		{"GET {address}/parcels/{id}", "GET", "/parcels/" + parcel.String(), "", mine, 200},
		{"GET {address}/parcels/{id}/{place}", "GET", "/parcels/" + parcel.String() + "/0", "", mine, 200},
		{"POST {address}/extend", "POST", "/extend", "", append([]string{mailbox.ExpiresHeader, expires}, mine...), 200},
		{"POST {address}/close", "POST", "/close", "", mine, 200},
		{"DELETE {address}", "DELETE", "", "", mine, 200},
	}
	routed := map[string]bool{}
	for _, r := range routes {
		if a := ask(r.method, box+r.path, r.body, r.header...); a.StatusCode != r.status {
			t.Errorf("%s: %s", r.route, a.Status)
		}
		method, path, _ := strings.Cut(r.route, " ")
		routed[method+" "+mailbox.Root+path] = true
	}
	for _, r := range routes {
		for _, header := range [][]string{other, {"Authorization", string(word)}, {mailbox.OwnerHeader, string(word), mailbox.ExpiresHeader, query}, {"Origin", "https://" + from}} {
			if a := ask(r.method, box+r.path, r.body+string(word), header...); a.StatusCode < 400 {
				t.Errorf("%s with %v: %s", r.route, header[0], a.Status)
			}
		}
		ask(r.method, box+r.path+"/"+query, "", mine...)
		ask(r.method, mailbox.Root+query+r.path, "", mine...)
		ask(r.method, box+"//"+r.path+"?"+query, "", mine...)
	}
	assets, err := web.Pack(web.Own(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range append(web.Paths(assets), "/readyz") {
		if a := ask("GET", path+"?"+query+"#"+query, ""); a.StatusCode != 200 {
			t.Errorf("%s: %s", path, a.Status)
		}
		ask("POST", path, string(word), mine...)
		if strings.HasSuffix(path, "/") {
			path += "{$}"
		}
		routed["GET "+path] = true
	}
	for _, path := range []string{"/" + query, "/assets/" + query, "/metrics?" + query, "/" + query + "/%2e%2e/%ff"} {
		ask("GET", path, "", mine...)
	}
	routed["GET /assets/{rest...}"] = true
	// A mailbox that fails tells of it, and not for whom.
	again := mailboxtest.NewAddress()
	secrets["another address"] = again[:]
	ask("PUT", mailbox.Root+again.String(), "", opening...)
	if err := os.RemoveAll(filepath.Join(folder, "chunks")); err != nil {
		t.Fatal(err)
	}
	if a := ask("PUT", mailbox.Root+again.String()+"/parcels/"+parcel.String()+"/0", string(word)); a.StatusCode != http.StatusInternalServerError {
		t.Errorf("a chunk without a folder for it: %s", a.Status)
	}

	a, err := c.Get(counts)
	if err != nil {
		t.Fatal(err)
	}
	told, err := io.ReadAll(a.Body)
	a.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	all, err := metricstest.Parse(string(told))
	if err != nil {
		t.Fatal(err)
	}
	log := []byte(p.log.String())
	for route := range routed {
		n := all[fmt.Sprintf(`plumb_http_requests_total{class="2xx",route="%s"}`, route)]
		if n < 1 {
			t.Errorf("%s was not answered well", route)
		}
		if !bytes.Contains(log, []byte(route)) {
			t.Errorf("%s is not in the log", route)
		}
	}
	for name := range all {
		if m := regexp.MustCompile(`route="([^"]*)"`).FindStringSubmatch(name); m != nil && !routed[m[1]] && m[1] != "refused" && m[1] != "nothing" {
			t.Errorf("a route that is not known here is counted: %s; ask it above", m[1])
		}
	}
	if all["plumb_mailbox_failures_total"] != 1 || !bytes.Contains(log, []byte("the mailbox failed")) {
		t.Errorf("the failure of the mailbox: counted %v, in the log: %t", all["plumb_mailbox_failures_total"], bytes.Contains(log, []byte("the mailbox failed")))
	}
	for what, b := range secrets {
		if traced(log, b) {
			t.Errorf("%s is in the log", what)
		}
		if traced(told, b) {
			t.Errorf("%s is in the metrics", what)
		}
	}
	for line := range bytes.Lines(log) {
		var entry map[string]any
		if err := json.Unmarshal(line, &entry); (err == nil) != (form == "json") || form == "text" && !bytes.HasPrefix(line, []byte("time=")) {
			t.Errorf("no line of %s: %s", form, line)
		} else if err == nil && (entry["msg"] == nil || entry["level"] == nil || entry["time"] == nil) {
			t.Errorf("a line without what each has: %s", line)
		}
	}
}
