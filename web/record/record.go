// Package record says what was asked of whom about which pictures, what was decided on which screen, and whether that stands: text that can be read as it is, with
// Ed25519 signatures (RFC 8032) over its exact bytes.
//
// A signature shows that the text is as the holder of a key signed it. It does not show who holds the key, that a clock was right, or that a screen was found as it
// is told here: that is in the report, whose digest is bound in. It is no seal either: whoever has a record can read it.
//
// # Layout
//
// A text is UTF-8 without a byte order mark. Each line ends with one LF. All lines stand in the order given here, with one space between words, and nothing else does.
// There is one way to write a record: what would be written otherwise is refused.
//
//	HEX     bytes in pairs of lower-case hexadecimal digits: 16 for a place, 32 for a digest or a public key, 64 for a signature; no place and no digest is all
//	        zeros
//	N       a whole number in decimal digits, without a sign or zeros before it
//	TIME    a time from 1970 to 9999 in UTC to the second as in RFC 3339, with T and Z and no leap second: 2026-11-28T20:15:00Z
//	STRING  a string of JSON (RFC 8259) in which " and \ are written \" and \\, and all else as itself. It holds no control and no format character (see
//	        Tidy for the list), so that what is read is what was signed.
//	a | b   one of them
//	each    the indented lines, once for each in order
//
// A request, at most 64 KiB:
//
//	plumb request 1                         the version
//	place HEX                               the address of the box it was made for
//	round N                                 1 to 1000
//	earlier none | earlier HEX              the digest of the round before it: none in the first round, and only there
//	made TIME                               by the asker's clock
//	title STRING                            at most 80 characters (Unicode code points), as all STRINGs but notes
//	from STRING                             who asks, in their own words
//	note STRING                             at most 400
//	needs nothing of the screen | needs PURPOSE
//	pictures N                              1 to 64
//	each picture, counted from 1:
//	  picture N of N STRING                 its name, not empty
//	  kind image/WORD                       its media type; WORD: 1 to 40 of a-z 0-9 . + -
//	  size N x N pixels, N bytes            width and height as seen, each 1 to 1048576; bytes sent, 1 to 1099511627776
//	  sent HEX                              the SHA-256 of the bytes sent
//	  source as sent | source HEX           the SHA-256 of the file they were made from, where it is another
//	asker HEX                               the public key of who asks
//	signature HEX                           over "plumb/request/1", LF and all lines before this one
//
// A record, at most 128 KiB, with the request that it answers inside:
//
//	plumb record 1                          the version
//	name STRING                             of who decides, not empty
//	decision DECISION                       on the whole
//	told TIME by the signer's clock
//	mailbox told no time | mailbox TIME by the mailbox's clock
//	earlier none | earlier HEX              the digest of the record that this one replaces
//	screen unchecked | screen checked STRING
//	where it is checked:
//	  ended TIME                            when that sitting ended
//	  report HEX                            the SHA-256 of the report's bytes as they were first written
//	  model none | model HEX                the SHA-256 of the packed screen model that goes with the record
//	  purposes N                            0 to 3
//	  each purpose:
//	    purpose PURPOSE: VERDICT            each purpose at most once, in the order below
//	asked nothing of the screen | asked PURPOSE: VERDICT | asked PURPOSE: screen unchecked
//	                                        what the request needs and the lines above say of it; a purpose that is not there is not checked
//	approval covers COVER
//	pictures N                              as many as in the request
//	each picture, counted from 1:
//	  picture N of N STRING                 its name in the request
//	  decision DECISION
//	  hidden not known | hidden and not seen, in pixels of 1000 with a 90 % interval:
//	  where it is known, for each way in the order below:
//	    WAY: not known | WAY: N, N to N     0 to 1000; the first number is in the interval
//	  notes N                               0 to 200
//	  each note:
//	    note at N,N: STRING | note at N,N size N x N: STRING
//	                                        a point in pixels of the picture as seen, inside it, or the upper left corner of a rectangle that lies inside it
//	                                        and is at least 1 x 1; at most 400 characters, not empty
//	request of N lines                      the number of lines that follow and are the request, to the byte
//	...
//	signer HEX                              the public key of who decides
//	signature HEX                           over "plumb/record/1", LF and all lines before this one
//
//	PURPOSE   layout and wording | light and shade | colour
//	VERDICT   holds | off | unsure | not checked
//	DECISION  undecided | approved | changes asked
//	WAY       detail in shadows | detail in lights | colours beyond its range | shifted tones or colours | differences finer than its steps | any of these
//	COVER     of a checked screen:    what the screen above could show: what is listed as not seen is not covered
//	          of an unchecked screen: what was on a screen that nobody checked: what it hid is not known
//
// The digest of a text is the SHA-256 of all its bytes, signature included. A key is not taken if it is one of the few of small order, for which a signature fits
// more than one text.
//
// # What it may claim
//
// A record whose signature is good does not stand if it claims what its parts do not bear out:
//   - the whole is approved only if every picture is;
//   - changes are asked for the whole only if every picture is decided, and changes are asked for one at least;
//   - on a screen that was not checked nothing is known of what it hides;
//   - on a screen that was checked a picture is approved only with what was hidden of it, "any of these" included; that way is known wherever any is;
//   - something is decided or noted, unless the record takes an earlier one back.
//
// # Checking it without this program
//
// The signature of a record in the file R, with its last two lines for the key and the signature, by OpenSSL 3 and the tools of any Unix:
//
//	(printf 'plumb/record/1\n'; sed '$d' R) > signed
//	sed -n '$s/^signature //p' R | xxd -r -p > signature
//	(printf 302a300506032b6570032100; tail -n 2 R | sed -n 's/^signer //p') | xxd -r -p > key
//	openssl pkeyutl -verify -pubin -keyform DER -inkey key -rawin -in signed -sigfile signature
//
// The request inside is checked the same way with plumb/request/1 and asker, and a picture by sha256sum.
package record

import (
	"errors"
	"time"
)

// Errors of reading and of signing.
var (
	ErrVersion   = errors.New("record: made by a later version")
	ErrLayout    = errors.New("record: not laid out as its version says")
	ErrTooLarge  = errors.New("record: too large")
	ErrKey       = errors.New("record: not a key that can sign this")
	ErrSignature = errors.New("record: the signature of who decided does not fit the text")
	ErrRequest   = errors.New("record: the signature of who asked does not fit the request")
	ErrClaim     = errors.New("record: claims what its parts do not bear out")
)

// Errors of Check.
var (
	ErrPlace      = errors.New("record: of another box")
	ErrReplay     = errors.New("record: answers another request")
	ErrForeignKey = errors.New("record: signed by another key than expected")
	ErrPicture    = errors.New("record: a picture is not the one that was sent")
	ErrReport     = errors.New("record: the report is not the one of this screen")
	ErrModel      = errors.New("record: the screen model is not the one named")
	ErrEarlier    = errors.New("record: replaces another record than expected")
)

// Bounds. Characters are Unicode code points.
const (
	MaxText     = 80        // characters of a title or a name
	MaxNote     = 400       // characters of a note
	MaxPictures = 64        // of a request
	MaxNotes    = 200       // of one picture
	MaxRequest  = 64 << 10  // bytes of a request
	MaxRecord   = 128 << 10 // bytes of a record
	MaxRound    = 1000
	MaxSide     = 1 << 20 // pixels of a picture's side
	MaxSize     = 1 << 40 // bytes of a picture
)

// Purposes are what a screen is asked to be fit for, Verdicts what is found of it, Ways how a picture is hidden, in the order in which they are written.
var (
	Purposes = []string{"layout and wording", "light and shade", "colour"}
	Verdicts = []string{"holds", "off", "unsure", "not checked"}
	Ways     = []string{"shadows", "lights", "beyond", "shifted", "steps", "any"}
)

// Picture is one picture of a request. Width and Height are in pixels as seen, with its orientation applied. Digest is the SHA-256 of the bytes sent, Source that of
// the file they were made from: the same when it was sent as it was.
type Picture struct {
	Name, Kind     string // Kind: a media type, image/...
	Width, Height  int
	Size           int64 // bytes sent
	Digest, Source [32]byte
}

// Request is what is asked about which pictures.
type Request struct {
	Place             [16]byte  // the box's address: a request is of one box
	Round             int       // from 1
	Earlier           [32]byte  // Digest of the round before; zero in the first
	Made              time.Time // to the second
	Title, From, Note string
	Needs             string // one of Purposes that must hold on the screen; "": unchecked is fine
	Pictures          []Picture
	Asker             [32]byte // public key; Sign sets it
}

// Decision is about a picture or about all. The zero Decision decides nothing.
type Decision string

const (
	Undecided Decision = ""
	Approved  Decision = "approved"
	Changes   Decision = "changes asked"
)

// Note is pinned to a rectangle in pixels of the picture as seen; width and height 0: to a point.
type Note struct {
	X, Y, Width, Height int
	Text                string
}

// Hidden is how much of a picture the screen did not show: per mille of its pixels, with its 90 % interval.
type Hidden struct {
	What       string // one of Ways
	At, Lo, Hi int
}

// Judged is what was decided about a picture.
type Judged struct {
	Decision    Decision
	Hidden      []Hidden // in the order of Ways
	HiddenKnown bool     // it was worked out for this picture and this screen
	Notes       []Note
}

// Fit is whether a screen is fit for a purpose: one of Purposes, one of Verdicts.
type Fit struct{ Purpose, Verdict string }

// Screen is what it was decided on. The zero Screen is unchecked.
type Screen struct {
	Report  [32]byte  // SHA-256 of the report's bytes as its maker wrote them; zero: unchecked
	Ended   time.Time // when that sitting ended
	Name    string
	Fitness []Fit    // in the order of Purposes
	Model   [32]byte // SHA-256 of the packed screen model that goes with the record; zero: none
}

// Statement is what somebody decided.
type Statement struct {
	Request  []byte    // signed text, whole
	Earlier  [32]byte  // Digest of the record that this one replaces; zero: none
	Name     string    // of who decides
	Told     time.Time // by the signer's clock
	Mailbox  time.Time // by the mailbox's clock; zero: none told one
	Screen   Screen
	Pictures []Judged // one for each picture of the request, in its order
	Whole    Decision
	Signer   [32]byte // public key; Sign sets it
}

// Record is a statement that was read and stands by itself.
type Record struct {
	Statement
	Asked Request
}

// Beside is what lies beside a record and what is expected of it. What is nil is not compared.
type Beside struct {
	Place    *[16]byte
	Asker    *[32]byte
	Signer   *[32]byte        // the key that an earlier record of the same person has
	Earlier  *[32]byte        // Digest of the record that it has to replace; zero: it has to replace none
	Request  []byte           // signed text
	Pictures map[int][]byte   // bytes sent, by place in the request from 0
	Digests  map[int][32]byte // SHA-256 of bytes sent that are not at hand, in the same way
	Report   []byte
	Model    []byte
}
