package main

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/plumb/web/mailbox"
	"example.org/plumb/web/mailbox/mailboxtest"
	"example.org/plumb/web/seal"
)

// What the server has on its disk and in its log holds no word that was sent, no key, no right and no address: not as bytes, not in hexadecimal, not in base64.
func TestBlind(t *testing.T) {
	if testing.Short() {
		t.Skip("starts a server")
	}
	root := small(t)
	folder := filepath.Join(root, "letters")
	p := start(t, root, "-data", folder)
	web := newClient()
	defer web.CloseIdleConnections()
	s := p.store(web)
	ctx := context.Background()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}

	// Tomas asks Ines to look at the pears of the autumn catalogue.
	const words = "Dear Ines, are the Conference pears on page 12 too green? Tomas, packing room"
	at, right := mailboxtest.NewAddress(), mailboxtest.NewRight()
	seed := mailboxtest.Bytes(32)
	reader, err := seal.Derive(seed)
	must(err)
	key, parcel, letter := seal.NewKey(), mailboxtest.NewID(), mailboxtest.NewID()
	picture := []byte(strings.Repeat("a row of the picture of the pears; ", 20_000))
	must(s.Open(ctx, at, right.Owner(), time.Now().Add(9*24*time.Hour)))
	sealed, err := seal.Seal(reader.Public(), "request", seal.Place(at, letter), []byte(words+string(key[:])))
	must(err)
	_, err = s.Put(ctx, at, letter, sealed)
	must(err)
	chunk, err := key.SealChunk(seal.Parcel(parcel), 0, true, picture)
	must(err)
	must(s.PutChunk(ctx, at, parcel, 0, int64(len(chunk)), bytes.NewReader(chunk)))
	got, err := s.Get(ctx, at, right, 0, 0)
	must(err)
	if plain, err := reader.Open("request", seal.Place(at, letter), got[0].Body); err != nil || !bytes.HasPrefix(plain, []byte(words)) {
		t.Fatalf("the letter opens as %q, %v", plain, err)
	}
	must(s.Extend(ctx, at, right, time.Now().Add(20*24*time.Hour)))

	// What may make a server talkative: wrong rights, nonsense, requests that break off, too many of them.
	wrong := mailboxtest.NewRight()
	s.Delete(ctx, at, wrong)
	s.Put(ctx, at, letter, []byte(words))
	u, err := url.Parse(p.origin)
	must(err)
	for _, text := range []string{
		"GET " + mailbox.Root + at.String() + "/letters?after=" + words[:4] + " HTTP/1.1\r\nHost: x\r\n\r\n",
		"PUT " + mailbox.Root + at.String() + "/parcels/" + parcel.String() + "/1 HTTP/1.1\r\nHost: x\r\nContent-Length: 99999\r\n\r\n" + words,
		"GET " + mailbox.Root + at.String() + " HTTP/9.9\r\nAuthorization: Bearer " + right.Text() + "\r\n\r\n",
		"\x16\x03\x01 no TLS here " + right.Text(),
	} {
		c, err := net.Dial("tcp", u.Host)
		must(err)
		fmt.Fprint(c, text)
		time.Sleep(10 * time.Millisecond)
		c.(*net.TCPConn).SetLinger(0)
		c.Close()
	}
	limited := false
	for range 1400 {
		r, err := web.Get(p.origin + mailbox.Root + at.String())
		must(err)
		r.Body.Close()
		limited = limited || r.StatusCode == http.StatusTooManyRequests
	}
	if !limited {
		t.Error("1400 requests were let through")
	}

	disk := readAll(t, folder)
	p.kill()
	for at, b := range readAll(t, folder) {
		disk["after the end: "+at] = b
	}
	disk["the log"] = []byte(p.log.String())
	found := func(b []byte) string {
		for name, text := range disk {
			if traced(text, b) {
				return filepath.Base(name)
			}
		}
		return ""
	}
	for what, b := range map[string][]byte{
		"a word": []byte("Conference pears"), "a name": []byte("Tomas"), "the picture": []byte("a row of the picture"), "the seed": seed, "the reader's key": reader.Bytes()[:32],
		"the parcel's key": key[:], "the right": right[:], "a wrong right": wrong[:], "the address": at[:], "a client": []byte("127.0.0.1:"), "the way": []byte("/api/v1"),
	} {
		if where := found(b); where != "" {
			t.Errorf("%s is in %s", what, where)
		}
	}
	// The search finds what is there.
	owner := right.Owner()
	for what, b := range map[string][]byte{"what is kept of the right": owner[:], "the sealed letter": sealed[100:200], "the sealed chunk": chunk[100:200], "the log": []byte("letters are kept in")} {
		if found(b) == "" {
			t.Errorf("%s is nowhere", what)
		}
	}
}

// traced tells whether a text has some bytes in it, as they are, in hexadecimal or in base64.
func traced(text, b []byte) bool {
	for _, form := range [][]byte{b, []byte(hex.EncodeToString(b)), []byte(strings.ToUpper(hex.EncodeToString(b))),
		[]byte(base64.StdEncoding.EncodeToString(b)), []byte(base64.URLEncoding.EncodeToString(b)), []byte(base64.RawURLEncoding.EncodeToString(b))} {
		if bytes.Contains(text, form) {
			return true
		}
	}
	return false
}

// readAll is what the files in a folder hold, their names included.
func readAll(t *testing.T, folder string) map[string][]byte {
	all := map[string][]byte{}
	if err := filepath.WalkDir(folder, func(at string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			all[at], err = os.ReadFile(at)
			all[at] = append(all[at], filepath.Base(at)...)
		}
		return err
	}); err != nil {
		t.Fatal(err)
	}
	return all
}

// net/http tells of clients in its messages; the program does not.
func TestQuiet(t *testing.T) {
	var log buffer
	l := quiet(journal(&log, false))
	l.Printf("http: TLS handshake error from 192.0.2.1:5: %s", "secret")
	if log.String() != "" {
		t.Errorf("told: %q", log.String())
	}
	l.Printf("http: panic serving 192.0.2.1:5: secret\ngoroutine 1")
	if s := log.String(); !strings.HasSuffix(s, "level=ERROR msg=\"a request failed by a fault of this program\"\n") || strings.Count(s, "\n") != 1 {
		t.Errorf("told: %q", s)
	}
}
