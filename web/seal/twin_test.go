package seal

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/mlkem"
	"crypto/mlkem/mlkemtest"
	"crypto/sha256"
	"crypto/sha3"
	"encoding/binary"
	"slices"
	"testing"
)

// This file is HPKE once more, base mode alone, plainly after RFC 9180 and, for X-Wing, draft-ietf-hpke-pq: nothing of it comes from crypto/hpke. What is random
// there comes in as an argument, so that it makes the same letters again.

// A twin is one suite.
type twin struct{ kem, kdf, aead uint16 }

var twins = map[byte]twin{short: {0x0020, 1, 2}, hybrid: {0x647a, 1, 2}}

const xwing = `\./` + `/^\`

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func number(n, size int) []byte {
	b := binary.BigEndian.AppendUint64(nil, uint64(n))
	return b[8-size:]
}

// extract and expand are LabeledExtract and LabeledExpand of section 4 with SHA-256.
func extract(suite, salt []byte, label string, ikm []byte) []byte {
	return must(hkdf.Extract(sha256.New, slices.Concat([]byte("HPKE-v1"), suite, []byte(label), ikm), salt))
}

func expand(suite, prk []byte, label string, info []byte, size int) []byte {
	return must(hkdf.Expand(sha256.New, prk, string(slices.Concat(number(size, 2), []byte("HPKE-v1"), suite, []byte(label), info)), size))
}

func (w twin) kemSuite() []byte { return append([]byte("KEM"), number(int(w.kem), 2)...) }

// derive is DeriveKeyPair: section 7.1.3, and for X-Wing the draft's with SHAKE256.
func (w twin) derive(ikm []byte) (private []byte) {
	if w.kem == 0x0020 {
		return expand(w.kemSuite(), extract(w.kemSuite(), nil, "dkp_prk", ikm), "sk", nil, 32)
	}
	return sha3.SumSHAKE256(slices.Concat(ikm, []byte("HPKE-v1"), w.kemSuite(), number(len("DeriveKeyPair"), 2), []byte("DeriveKeyPair"), number(32, 2)), 32)
}

// halves are the two keys of a private one; the first is nil in X25519 alone.
func (w twin) halves(private []byte) (pq *mlkem.DecapsulationKey768, x *ecdh.PrivateKey) {
	if w.kem == 0x0020 {
		return nil, must(ecdh.X25519().NewPrivateKey(private))
	}
	b := sha3.SumSHAKE256(private, 96)
	return must(mlkem.NewDecapsulationKey768(b[:64])), must(ecdh.X25519().NewPrivateKey(b[64:]))
}

func (w twin) public(private []byte) []byte {
	pq, x := w.halves(private)
	if pq == nil {
		return x.PublicKey().Bytes()
	}
	return append(pq.EncapsulationKey().Bytes(), x.PublicKey().Bytes()...)
}

// encapsulate is Encap with what is random in it: 32 bytes of an X25519 key, and before them 32 for ML-KEM.
func (w twin) encapsulate(public, random []byte) (shared, enc []byte) {
	theirs := must(ecdh.X25519().NewPublicKey(public[len(public)-32:]))
	mine := must(ecdh.X25519().NewPrivateKey(random[len(random)-32:]))
	x := must(mine.ECDH(theirs))
	if w.kem == 0x0020 {
		enc = mine.PublicKey().Bytes()
		return w.shared(x, enc, public), enc
	}
	key, ct, err := mlkemtest.Encapsulate768(must(mlkem.NewEncapsulationKey768(public[:mlkem.EncapsulationKeySize768])), random[:32])
	if err != nil {
		panic(err)
	}
	return combine(key, x, mine.PublicKey().Bytes(), theirs.Bytes()), append(ct, mine.PublicKey().Bytes()...)
}

// decapsulate is Decap.
func (w twin) decapsulate(private, enc []byte) (shared []byte, err error) {
	pq, mine := w.halves(private)
	theirs := must(ecdh.X25519().NewPublicKey(enc[len(enc)-32:]))
	x, err := mine.ECDH(theirs)
	if err != nil {
		return nil, err
	}
	if pq == nil {
		return w.shared(x, enc, mine.PublicKey().Bytes()), nil
	}
	key, err := pq.Decapsulate(enc[:mlkem.CiphertextSize768])
	if err != nil {
		return nil, err
	}
	return combine(key, x, theirs.Bytes(), mine.PublicKey().Bytes()), nil
}

// shared is ExtractAndExpand of section 4.1.
func (w twin) shared(x, enc, public []byte) []byte {
	return expand(w.kemSuite(), extract(w.kemSuite(), nil, "eae_prk", x), "shared_secret", slices.Concat(enc, public), 32)
}

// combine is the combiner of X-Wing.
func combine(key, x, enc, public []byte) []byte {
	b := sha3.Sum256(slices.Concat(key, x, enc, public, []byte(xwing)))
	return b[:]
}

// schedule is KeySchedule of section 5.1 in base mode.
func (w twin) schedule(shared, info []byte) (key, nonce, exporter []byte) {
	suite := slices.Concat([]byte("HPKE"), number(int(w.kem), 2), number(int(w.kdf), 2), number(int(w.aead), 2))
	context := slices.Concat([]byte{0}, extract(suite, nil, "psk_id_hash", nil), extract(suite, nil, "info_hash", info))
	secret := extract(suite, shared, "secret", nil)
	size := 32
	if w.aead == 1 {
		size = 16
	}
	return expand(suite, secret, "key", context, size), expand(suite, secret, "base_nonce", context, 12), expand(suite, secret, "exp", context, 32)
}

// export is Context.Export of section 5.3.
func (w twin) export(exporter []byte, context []byte, size int) []byte {
	suite := slices.Concat([]byte("HPKE"), number(int(w.kem), 2), number(int(w.kdf), 2), number(int(w.aead), 2))
	return expand(suite, exporter, "sec", context, size)
}

// at is the nonce of the message with a sequence number: section 5.2.
func at(base []byte, sequence int) []byte {
	n := slices.Clone(base)
	for i, b := range number(sequence, 8) {
		n[4+i] ^= b
	}
	return n
}

func aesgcm(key []byte) cipher.AEAD { return must(cipher.NewGCM(must(aes.NewCipher(key)))) }

// seal is SealBase of section 6.1.
func (w twin) seal(public, random, info, plain []byte) []byte {
	shared, enc := w.encapsulate(public, random)
	key, nonce, _ := w.schedule(shared, info)
	return append(enc, aesgcm(key).Seal(nil, nonce, plain, nil)...)
}

// open is OpenBase.
func (w twin) open(private, info, sealed []byte) ([]byte, error) {
	size := 32
	if w.kem == 0x647a {
		size = 1120
	}
	shared, err := w.decapsulate(private, sealed[:size])
	if err != nil {
		return nil, err
	}
	key, nonce, _ := w.schedule(shared, info)
	return aesgcm(key).Open(nil, nonce, sealed[size:], nil)
}

// A script is a letter in the making, part by part, so that each can be wrong.
type script struct {
	version, suite byte
	public         []byte
	label          string
	kind, context  []byte
	inside         []byte // length, body, padding
}

// letterTo is a right one.
func letterTo(to Public, kind Kind, context, body []byte) script {
	enc := map[byte]int{short: 32, hybrid: 1120}[to[0]]
	room := 0
	for _, size := range sizes() {
		if room = size - 2 - enc - 16; room >= 4+len(body) {
			break
		}
	}
	return script{1, to[0], to[1:], "plumb/letter/1", []byte(kind), context, append(slices.Concat(number(len(body), 4), body), make([]byte, room-4-len(body))...)}
}

// sizes are the lengths that letters have.
func sizes() (list []int) {
	for s := 512; s <= 262144; s *= 2 {
		list = append(list, s, s*3/2)
	}
	return list[:len(list)-1]
}

func (s script) info() []byte {
	return slices.Concat([]byte(s.label), []byte{s.suite}, number(len(s.kind), 4), s.kind, number(len(s.context), 4), s.context)
}

// write seals it by the twin.
func (s script) write(random []byte) []byte {
	return append([]byte{s.version, s.suite}, twins[s.suite].seal(s.public, random, s.info(), s.inside)...)
}

// stream is n bytes that a name stands for.
func stream(name string, n int) []byte { return sha3.SumSHAKE256([]byte(name), n) }

// What the package seals the twin opens, and the other way.
func TestTwin(t *testing.T) {
	for suite, w := range twins {
		private := append([]byte{suite}, w.derive(stream("seed", 32))...)
		key, err := derive(suite, stream("seed", 32))
		if err != nil {
			t.Fatal(err)
		}
		if suite == short { // SerializePrivateKey clamps
			private[1] &= 248
			private[32] = private[32]&127 | 64
		}
		if !bytes.Equal(key.Bytes(), private) {
			t.Errorf("suite %d: the seed gives %x, by the twin %x", suite, key.Bytes(), private)
		}
		if want := append([]byte{suite}, w.public(private[1:])...); !bytes.Equal(key.Public(), want) {
			t.Errorf("suite %d: public halves differ", suite)
		}
		for _, n := range []int{0, 1, 400, 458, 459, 3000, 70000} {
			body, context := stream("body", n), stream("context", n%50)
			s := letterTo(key.Public(), "answer", context, body)
			got, err := key.Open("answer", context, s.write(stream("random", 64)))
			if err != nil || !bytes.Equal(got, body) {
				t.Errorf("suite %d, %d bytes: the twin's letter: %v", suite, n, err)
			}
			letter, err := Seal(key.Public(), "answer", context, body)
			if err != nil {
				t.Fatal(err)
			}
			inside, err := w.open(private[1:], s.info(), letter[2:])
			if err != nil || !bytes.Equal(inside, s.inside) || letter[0] != 1 || letter[1] != suite {
				t.Errorf("suite %d, %d bytes: the twin does not read the letter: %v", suite, n, err)
			}
		}
	}
}
