//go:build !js

package seal

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"testing"
)

type secondLetter struct {
	Private, Public, Context, Letter, Body []byte
	Kind                                   string
	Size                                   int
}

type secondChunk struct {
	Key, ID, Plain, Sealed []byte
	Position               int
	Last                   bool
}

type secondOpinion struct {
	OpenLetters []secondLetter `json:"openLetters"`
	SealLetters []secondLetter `json:"sealLetters"`
	OpenChunks  []secondChunk  `json:"openChunks"`
	SealChunks  []secondChunk  `json:"sealChunks"`
}

// MarshalJSON names the fields as second.mjs has them.
func (l secondLetter) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]any{"private": l.Private, "public": l.Public, "context": text(l.Context), "letter": l.Letter, "body": text(l.Body), "kind": l.Kind, "size": l.Size})
}

func (c secondChunk) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]any{"key": c.Key, "id": c.ID, "plain": text(c.Plain), "sealed": c.Sealed, "position": c.Position, "last": c.Last})
}

// text makes nothing of nil rather than null.
func text(b []byte) []byte { return append([]byte{}, b...) }

// Web Crypto opens what this package seals, and this package opens what Web Crypto seals, letters and chunks.
func TestSecondOpinion(t *testing.T) {
	var ask secondOpinion
	key, err := GenerateShort()
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range []int{0, 1, 458, 459, 20000, MaxLetter - 54} {
		body, context := stream("body", n), stream("context", i*7)
		letter, err := Seal(key.Public(), "answer", context, body)
		if err != nil {
			t.Fatal(err)
		}
		l := secondLetter{Private: key.Bytes(), Public: key.Public(), Context: context, Kind: "answer", Size: len(letter), Body: body}
		ask.SealLetters = append(ask.SealLetters, l)
		l.Letter = letter
		ask.OpenLetters = append(ask.OpenLetters, l)
	}
	k, id := Key(stream("key", 32)), Parcel(stream("parcel", 16))
	for _, c := range []secondChunk{
		{Position: 0, Plain: stream("plain", ChunkSize)},
		{Position: 1, Plain: stream("plain", 17), Last: true},
		{Position: 0, Last: true},
		{Position: 300, Plain: stream("plain", 1000), Last: true},
		{Position: maxPosition, Plain: stream("plain", 16), Last: true},
	} {
		c.Key, c.ID = k[:], id[:]
		ask.SealChunks = append(ask.SealChunks, c)
		if c.Sealed, err = k.SealChunk(id, c.Position, c.Last, c.Plain); err != nil {
			t.Fatal(err)
		}
		ask.OpenChunks = append(ask.OpenChunks, c)
	}

	given, err := json.Marshal(ask)
	if err != nil {
		t.Fatal(err)
	}
	node := exec.Command("node", "second.mjs")
	node.Stdin = bytes.NewReader(given)
	var trouble bytes.Buffer
	node.Stderr = &trouble
	out, err := node.Output()
	if err != nil {
		t.Fatalf("node: %v\n%s", err, &trouble)
	}
	var said secondOpinion
	if err := json.Unmarshal(out, &said); err != nil {
		t.Fatal(err)
	}
	if len(said.OpenLetters) != len(ask.OpenLetters) || len(said.SealLetters) != len(ask.SealLetters) || len(said.OpenChunks) != len(ask.OpenChunks) || len(said.SealChunks) != len(ask.SealChunks) {
		t.Fatal("not everything was answered")
	}
	for i, l := range said.OpenLetters {
		if !bytes.Equal(l.Body, ask.OpenLetters[i].Body) {
			t.Errorf("letter %d, opened by Web Crypto, is another", i)
		}
	}
	for i, l := range said.SealLetters {
		if got, err := key.Open("answer", l.Context, l.Letter); err != nil || !bytes.Equal(got, ask.SealLetters[i].Body) {
			t.Errorf("letter %d, sealed by Web Crypto: %v", i, err)
		}
	}
	for i, c := range said.OpenChunks {
		if !bytes.Equal(c.Plain, ask.OpenChunks[i].Plain) {
			t.Errorf("chunk %d, opened by Web Crypto, is another", i)
		}
	}
	for i, c := range said.SealChunks {
		if !bytes.Equal(c.Sealed, ask.OpenChunks[i].Sealed) {
			t.Errorf("chunk %d, sealed by Web Crypto, is another", i)
		}
	}
}
