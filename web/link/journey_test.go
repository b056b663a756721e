package link_test

import (
	"bytes"
	"testing"

	"example.org/plumb/web/link"
	"example.org/plumb/web/seal"
)

func ok[T any](t *testing.T) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// A request and its answer through a box: what each side needs is in its link, and the store needs none of it.
func TestThroughABox(t *testing.T) {
	key, bytesOf, read := ok[*seal.Private](t), ok[[]byte](t), ok[link.Link](t)
	secret := link.NewSecret()
	box := link.NewBox(secret)
	requestID, answerID := [16]byte{1}, [16]byte{2}
	seed := secret.Seed()
	owner := key(seal.Derive(seed[:]))
	request := bytesOf(seal.Seal(key(seal.Derive(box.Seed[:])).Public(), "request", seal.Place(box.Address, requestID), owner.Public()))

	got := read(link.Read(ok[string](t)(link.Write("https://plumb.example", box)))).(link.Box)
	asker := bytesOf(key(seal.Derive(got.Seed[:])).Open("request", seal.Place(got.Address, requestID), request))
	answer := bytesOf(seal.Seal(asker, "answer", seal.Place(got.Address, answerID), []byte("the studio's left screen is fine")))

	desk := read(link.Read(ok[string](t)(link.Write("https://plumb.example", link.Desk{Secrets: []link.Secret{secret}})))).(link.Desk)
	elsewhere := desk.Secrets[0].Seed()
	body := bytesOf(key(seal.Derive(elsewhere[:])).Open("answer", seal.Place(desk.Secrets[0].Address(), answerID), answer))
	if string(body) != "the studio's left screen is fine" {
		t.Errorf("%q", body)
	}

	recipient := key(seal.Derive(got.Seed[:]))
	if _, err := recipient.Open("answer", seal.Place(got.Address, answerID), answer); err != seal.ErrForeign {
		t.Errorf("whoever has the recipient's link opens an answer: %v", err)
	}
	if _, err := owner.Open("request", seal.Place(got.Address, requestID), request); err != seal.ErrForeign {
		t.Errorf("the owner's secret gives the recipient's key: %v", err)
	}
}

// A request and its answer without a server.
func TestWithoutAServer(t *testing.T) {
	key, bytesOf, read := ok[*seal.Private](t), ok[[]byte](t), ok[link.Link](t)
	seed := link.NewSecret().Seed()
	owner := key(seal.DeriveShort(seed[:]))
	sent := link.Request{Key: owner.Public(), Body: []byte(`{"from":"Ines"}`)}
	got := read(link.Read(ok[string](t)(link.Write("https://plumb.example", sent)))).(link.Request)
	if !bytes.Equal(got.Key, sent.Key) || !bytes.Equal(got.Body, sent.Body) || got.Address() != sent.Address() {
		t.Fatal("another request")
	}
	id := [16]byte{7}
	letter := bytesOf(seal.Seal(got.Key, "answer", seal.Place(got.Address(), id), []byte("fine")))
	back := read(link.Read(ok[string](t)(link.Write("https://plumb.example", link.Answer{Address: got.Address(), ID: id, Letter: letter})))).(link.Answer)
	if back.Address != sent.Address() {
		t.Error("the answer names another request")
	}
	if body := bytesOf(owner.Open("answer", seal.Place(back.Address, back.ID), back.Letter)); string(body) != "fine" {
		t.Errorf("%q", body)
	}
}
