package seal

import (
	"bytes"
	"crypto/hpke"
	"crypto/sha3"
	"encoding/hex"
	"encoding/json"
	"io"
	"testing"

	"example.org/plumb/testdata"
)

// octets are bytes in hexadecimal.
type octets []byte

func (o *octets) UnmarshalText(text []byte) (err error) {
	*o, err = hex.DecodeString(string(text))
	return err
}

func (o octets) MarshalText() ([]byte, error) { return []byte(hex.EncodeToString(o)), nil }

// read fills v from a file of testdata/seal.
func read(t testing.TB, name string, v any) {
	t.Helper()
	b, err := testdata.FS.ReadFile("seal/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, v); err != nil {
		t.Fatal(err)
	}
}

type published struct {
	KEM   uint16 `json:"kem_id"`
	KDF   uint16 `json:"kdf_id"`
	AEAD  uint16 `json:"aead_id"`
	Info  octets `json:"info"`
	IkmE  octets `json:"ikmE"`
	IkmR  octets `json:"ikmR"`
	SkRm  octets `json:"skRm"`
	PkRm  octets `json:"pkRm"`
	Enc   octets `json:"enc"`
	Key   octets `json:"key"`
	Nonce octets `json:"base_nonce"`

	Encryptions octets `json:"encryptions_accumulated"`
	Exports     octets `json:"exports_accumulated"`
	Values      []struct {
		Context octets `json:"exporter_context"`
		Size    int    `json:"L"`
		Value   octets `json:"exported_value"`
	} `json:"exports"`
}

// The twin agrees with what is published, and so does crypto/hpke where its interface lets it be seen.
func TestPublished(t *testing.T) {
	seen := 0
	for _, name := range []string{"rfc9180.json", "hpke-pq.json"} {
		var list []published
		read(t, name, &list)
		for _, v := range list {
			seen++
			v.check(t)
		}
	}
	if seen < 4 {
		t.Errorf("%d vectors", seen)
	}
}

func (v published) check(t *testing.T) {
	w := twin{v.KEM, v.KDF, v.AEAD}
	errorf := func(what string) { t.Errorf("KEM %#04x, AEAD %d: %s", v.KEM, v.AEAD, what) }
	private := w.derive(v.IkmR)
	if !bytes.Equal(private, v.SkRm) || !bytes.Equal(w.public(private), v.PkRm) {
		errorf("the reader's key")
	}
	random := []byte(v.IkmE)
	if v.KEM == 0x0020 {
		random = w.derive(random)
	}
	shared, enc := w.encapsulate(v.PkRm, random)
	if !bytes.Equal(enc, v.Enc) {
		errorf("the encapsulated key")
	}
	if again, err := w.decapsulate(private, enc); err != nil || !bytes.Equal(again, shared) {
		errorf("the shared secret")
	}
	key, nonce, exporter := w.schedule(shared, v.Info)
	if v.Key != nil && (!bytes.Equal(key, v.Key) || !bytes.Equal(nonce, v.Nonce)) {
		errorf("key and nonce")
	}

	kem := must(hpke.NewKEM(v.KEM))
	std, err := hpke.NewRecipient(v.Enc, must(kem.NewPrivateKey(v.SkRm)), must(hpke.NewKDF(v.KDF)), must(hpke.NewAEAD(v.AEAD)), v.Info)
	if err != nil {
		t.Fatal(err)
	}
	if key, err := kem.DeriveKeyPair(v.IkmR); err != nil || !bytes.Equal(key.PublicKey().Bytes(), v.PkRm) {
		errorf("crypto/hpke: the reader's key")
	}

	// A thousand messages and a thousand exports, summed up by SHAKE128.
	if v.Encryptions != nil && v.AEAD != 3 {
		source, sink := sha3.NewSHAKE128(), sha3.NewSHAKE128()
		aead := aesgcm(key)
		for i := range 1000 {
			additional, plain := draw(source), draw(source)
			sealed := aead.Seal(nil, at(nonce, i), plain, additional)
			sink.Write(sealed)
			if got, err := std.Open(additional, sealed); err != nil || !bytes.Equal(got, plain) {
				errorf("crypto/hpke does not open a message")
			}
		}
		if !bytes.Equal(take(sink, 16), v.Encryptions) {
			errorf("messages")
		}
	}
	if v.Exports != nil {
		source, sink, other := sha3.NewSHAKE128(), sha3.NewSHAKE128(), sha3.NewSHAKE128()
		for size := range 1000 {
			context := draw(source)
			sink.Write(w.export(exporter, context, size))
			other.Write(must(std.Export(string(context), size)))
		}
		if !bytes.Equal(take(sink, 16), v.Exports) || !bytes.Equal(take(other, 16), v.Exports) {
			errorf("exports")
		}
	} else if len(v.Values) == 0 {
		errorf("nothing exported")
	}
	for _, e := range v.Values {
		if !bytes.Equal(w.export(exporter, e.Context, e.Size), e.Value) || !bytes.Equal(must(std.Export(string(e.Context), e.Size)), e.Value) {
			errorf("an export")
		}
	}
}

// draw takes a length below 256 and so many bytes.
func draw(r io.Reader) []byte { return take(r, int(take(r, 1)[0])) }

func take(r io.Reader, n int) []byte {
	b := make([]byte, n)
	must(io.ReadFull(r, b))
	return b
}
