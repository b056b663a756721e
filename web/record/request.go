package record

import (
	"crypto/ed25519"
	"encoding/hex"
	"slices"
	"strings"
)

const (
	none        = "none"
	needNothing = "nothing of the screen"
	asSent      = "as sent"
)

// Sign writes a request and signs it. Asker is zero or the key's public half. Times are written to the second.
func (r Request) Sign(key ed25519.PrivateKey) ([]byte, error) {
	var err error
	if r.Asker, err = public(key, r.Asker); err != nil {
		return nil, err
	}
	text, err := r.write()
	if err != nil {
		return nil, err
	}
	signed, err := sign(key, requestLabel, text)
	if err == nil && len(signed) > MaxRequest {
		return nil, ErrTooLarge
	}
	return signed, err
}

// ReadRequest reads a request that stands: laid out in the one way there is, and signed by its asker.
func ReadRequest(text []byte) (Request, error) {
	if len(text) > MaxRequest {
		return Request{}, ErrTooLarge
	}
	in := &reader{rest: string(text)}
	var r Request
	in.head("request")
	in.hex(in.after("place"), r.Place[:])
	r.Round = in.count(in.after("round"), MaxRound)
	r.Earlier = in.digest(in.after("earlier"), none)
	r.Made = in.time(in.after("made"))
	r.Title = in.text(in.after("title"))
	r.From = in.text(in.after("from"))
	r.Note = in.text(in.after("note"))
	if n := in.after("needs"); n != needNothing {
		r.Needs = n
	}
	for range in.count(in.after("pictures"), MaxPictures) {
		var p Picture
		_, name, _ := strings.Cut(in.after("picture"), ` "`)
		p.Name = in.text(`"` + name)
		p.Kind = in.after("kind")
		sides, size, _ := strings.Cut(in.after("size"), " pixels, ")
		in.numbers(sides, MaxSide, []string{" x "}, &p.Width, &p.Height)
		p.Size = in.number(strings.TrimSuffix(size, " bytes"), MaxSize)
		in.hex(in.after("sent"), p.Digest[:])
		if p.Source = in.digest(in.after("source"), asSent); p.Source == [32]byte{} {
			p.Source = p.Digest
		}
		if in.fault != nil {
			return Request{}, in.fault
		}
		r.Pictures = append(r.Pictures, p)
	}
	in.hex(in.after("asker"), r.Asker[:])
	signature := make([]byte, ed25519.SignatureSize)
	in.hex(in.after("signature"), signature)
	if in.fault != nil {
		return Request{}, in.fault
	}
	again, err := r.write()
	if err != nil {
		return Request{}, err
	}
	if err := same(text, again, signature); err != nil {
		return Request{}, err
	}
	if !signs(r.Asker, requestLabel, again, signature) {
		return Request{}, ErrRequest
	}
	return r, nil
}

// same reports where a text that was read differs from what is written of it.
func same(text []byte, again string, signature []byte) error {
	again += signatureName + hex.EncodeToString(signature) + "\n"
	if string(text) == again {
		return nil
	}
	i := 0
	for i < len(text) && i < len(again) && text[i] == again[i] {
		i++
	}
	return broken("line %d: not written in the one way there is", 1+strings.Count(again[:i], "\n"))
}

// write returns the text of a request up to its signature.
func (r Request) write() (string, error) {
	var w writer
	w.put("plumb request %d", version)
	w.need(r.Place != [16]byte{}, "place: none")
	w.put("place %x", r.Place)
	w.need(1 <= r.Round && r.Round <= MaxRound, "round: not from 1 to %d", MaxRound)
	w.need((r.Round == 1) == (r.Earlier == [32]byte{}), "earlier: all rounds but the first have one before them")
	w.put("round %d", r.Round)
	w.put("earlier %s", w.digest(r.Earlier, none))
	w.put("made %s", w.time("made", r.Made))
	w.put("title %s", w.quote("title", r.Title, MaxText))
	w.put("from %s", w.quote("from", r.From, MaxText))
	w.put("note %s", w.quote("note", r.Note, MaxNote))
	if r.Needs == "" {
		w.put("needs %s", needNothing)
	} else {
		w.need(slices.Contains(Purposes, r.Needs), "needs: not a purpose")
		w.put("needs %s", r.Needs)
	}
	w.need(1 <= len(r.Pictures) && len(r.Pictures) <= MaxPictures, "pictures: not from 1 to %d", MaxPictures)
	w.put("pictures %d", len(r.Pictures))
	for i, p := range r.Pictures {
		w.need(p.Name != "", "picture %d: no name", i+1)
		w.put("picture %d of %d %s", i+1, len(r.Pictures), w.quote("name of a picture", p.Name, MaxText))
		word, ok := strings.CutPrefix(p.Kind, "image/")
		w.need(ok && word != "" && len(word) <= 40 && strings.Trim(word, "abcdefghijklmnopqrstuvwxyz0123456789.+-") == "", "picture %d: not a kind of picture", i+1)
		w.put("kind %s", p.Kind)
		w.need(1 <= p.Width && p.Width <= MaxSide && 1 <= p.Height && p.Height <= MaxSide, "picture %d: its sides", i+1)
		w.need(1 <= p.Size && p.Size <= MaxSize, "picture %d: its bytes", i+1)
		w.put("size %d x %d pixels, %d bytes", p.Width, p.Height, p.Size)
		w.need(p.Digest != [32]byte{} && p.Source != [32]byte{}, "picture %d: no digest", i+1)
		w.put("sent %x", p.Digest)
		if p.Source == p.Digest {
			w.put("source %s", asSent)
		} else {
			w.put("source %x", p.Source)
		}
	}
	w.put("asker %x", r.Asker)
	return w.String(), w.fault
}
