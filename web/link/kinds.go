package link

import (
	"crypto/rand"
	"crypto/sha256"
)

// A Box is where to answer: the box's address, and the seed of the key that opens what its owner put there for whoever has this link.
type Box struct {
	Address [16]byte
	Seed    [32]byte // for seal.Derive
}

// NewBox makes the link to an owner's box, with a seed at random.
func NewBox(owner Secret) Box {
	b := Box{Address: owner.Address()}
	rand.Read(b.Seed[:]) // never fails
	return b
}

func (Box) kind() kind { return box }

func (b Box) fields() ([]byte, error) { return append(b.Address[:], b.Seed[:]...), nil }

func readBox(fields []byte) (Link, error) {
	var b Box
	if len(fields) != len(b.Address)+len(b.Seed) {
		return nil, ErrLayout
	}
	copy(b.Seed[:], fields[copy(b.Address[:], fields):])
	return b, nil
}

// A Request is a request as a whole, where no server carries it. Its body is compressed on the way.
type Request struct {
	Key  []byte // the asker's seal.Public, 33 bytes: of X25519 alone, so that the link fits a QR code
	Body []byte // at most MaxBody bytes
}

const requestKey = 33

// Address names the request in its answers as a box's address would: the first 16 bytes of the SHA-256 of "plumb/request/1" and the key.
func (r Request) Address() (a [16]byte) {
	sum := sha256.Sum256(append([]byte("plumb/request/1"), r.Key...))
	copy(a[:], sum[:])
	return a
}

func (Request) kind() kind { return request }

func (r Request) fields() ([]byte, error) {
	if len(r.Key) != requestKey {
		return nil, ErrLayout
	}
	packed, err := Pack(r.Body)
	if err != nil {
		return nil, err
	}
	return append(append([]byte(nil), r.Key...), packed...), nil
}

func readRequest(fields []byte) (Link, error) {
	if len(fields) < requestKey {
		return nil, ErrLayout
	}
	body, err := Unpack(fields[requestKey:])
	if err != nil {
		return nil, err
	}
	return Request{Key: fields[:requestKey:requestKey], Body: body}, nil
}

// An Answer is a sealed letter that no server carries.
type Answer struct {
	Address [16]byte // of the box or request that it answers
	ID      [16]byte // the letter's own name, by which a repeat is known
	Letter  []byte   // sealed, at least one byte
}

func (Answer) kind() kind { return answer }

func (a Answer) fields() ([]byte, error) {
	if len(a.Letter) == 0 {
		return nil, ErrLayout
	}
	return append(append(a.Address[:], a.ID[:]...), a.Letter...), nil
}

func readAnswer(fields []byte) (Link, error) {
	var a Answer
	if len(fields) <= len(a.Address)+len(a.ID) {
		return nil, ErrLayout
	}
	fields = fields[copy(a.Address[:], fields):]
	a.Letter = fields[copy(a.ID[:], fields):]
	return a, nil
}

// A Desk opens an owner's requests elsewhere: who has it reads all answers and may close the boxes. It holds nothing that a link to a box holds.
type Desk struct {
	Secrets []Secret // at least one
}

func (Desk) kind() kind { return desk }

func (d Desk) fields() ([]byte, error) {
	if len(d.Secrets) == 0 {
		return nil, ErrLayout
	}
	var b []byte
	for _, s := range d.Secrets {
		b = append(b, s[:]...)
	}
	return b, nil
}

func readDesk(fields []byte) (Link, error) {
	if len(fields) == 0 || len(fields)%len(Secret{}) != 0 {
		return nil, ErrLayout
	}
	var d Desk
	for ; len(fields) > 0; fields = fields[len(Secret{}):] {
		d.Secrets = append(d.Secrets, Secret(fields[:len(Secret{})]))
	}
	return d, nil
}
