package report

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"sync"
)

// A Colour is a colour of ordinary picture content, in 8-bit codes of sRGB, and the share of the content that it stands for.
type Colour struct {
	R, G, B uint8
	Weight  float64
}

// Colours returns ordinary picture content, which scores are a share of: a few hundred colours in the order of R, G, B, with weights that sum to 1.
// Callers must not change them.
//
// They stand for the pixels of 37 openly licensed photographs of people, animals, food, things, rooms, towns and land, each picture counting the same.
// Near black and near full, each colour's largest channel is held to a few codes, so that they also tell what is lost at both ends. Pages of text are not
// in it, and few people are. testdata/README.md names every picture and its licence, and .ci/content measures them again.
func Colours() []Colour { return unpacked() }

var unpacked = sync.OnceValue(func() []Colour {
	all, err := unpack(contentData)
	if err != nil {
		panic(err) // contentData is ours
	}
	return all
})

// contentParts is what the weights of packed colours sum to.
const contentParts = 1_000_000

// unpack reads colours, in base64: for each its three codes, and its weight in millionths as an unsigned varint.
func unpack(text string) ([]Colour, error) {
	packed, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		return nil, fmt.Errorf("report: content: %w", err)
	}
	var all []Colour
	left := uint64(contentParts)
	for len(packed) > 0 {
		if len(packed) < 4 {
			return nil, errors.New("report: content ends within a colour")
		}
		parts, n := binary.Uvarint(packed[3:])
		if n <= 0 || parts == 0 || parts > left {
			return nil, fmt.Errorf("report: content has no weight for colour %d, or one beyond the whole", len(all))
		}
		left -= parts
		all = append(all, Colour{packed[0], packed[1], packed[2], float64(parts) / contentParts})
		packed = packed[3+n:]
	}
	if left > 0 {
		return nil, fmt.Errorf("report: content lacks %d parts of %d", left, contentParts)
	}
	return all, nil
}
