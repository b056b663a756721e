package record

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"
)

// Fits reports whether the purpose that was asked for holds on the screen it was decided on, or none was asked for. A record that was not read fits nothing.
func (r Record) Fits() bool {
	if len(r.Asked.Pictures) == 0 {
		return false
	}
	return r.Asked.Needs == "" || r.Screen.Verdict(r.Asked.Needs) == "holds"
}

// Check compares a record that Read returned with what lies beside it, and returns the first difference: ErrPlace, ErrReplay, ErrForeignKey, ErrEarlier, ErrPicture,
// ErrReport or ErrModel.
func (r Record) Check(what Beside) error {
	if len(r.Request) == 0 || r.Signer == [32]byte{} {
		return broken("nothing was read")
	}
	if what.Place != nil && *what.Place != r.Asked.Place {
		return ErrPlace
	}
	if what.Asker != nil && *what.Asker != r.Asked.Asker {
		return fmt.Errorf("%w: the asker's", ErrForeignKey)
	}
	if what.Request != nil && !bytes.Equal(what.Request, r.Request) {
		return ErrReplay
	}
	if what.Signer != nil && *what.Signer != r.Signer {
		return fmt.Errorf("%w: that of who decided", ErrForeignKey)
	}
	if what.Earlier != nil && *what.Earlier != r.Earlier {
		return ErrEarlier
	}
	for _, i := range slices.Sorted(maps.Keys(what.Pictures)) {
		if err := r.picture(i, sha256.Sum256(what.Pictures[i])); err != nil {
			return err
		}
	}
	for _, i := range slices.Sorted(maps.Keys(what.Digests)) {
		if err := r.picture(i, what.Digests[i]); err != nil {
			return err
		}
	}
	if what.Report != nil && sha256.Sum256(what.Report) != r.Screen.Report {
		return ErrReport
	}
	if what.Model != nil && sha256.Sum256(what.Model) != r.Screen.Model {
		return ErrModel
	}
	return nil
}

// picture compares the digest of a picture by its place from 0.
func (r Record) picture(i int, sent [32]byte) error {
	switch {
	case i < 0 || i >= len(r.Asked.Pictures):
		return fmt.Errorf("%w: there is no picture %d", ErrPicture, i+1)
	case sent != r.Asked.Pictures[i].Digest:
		return fmt.Errorf("%w: picture %d", ErrPicture, i+1)
	}
	return nil
}

// Part is a file that a record names by its digest.
type Part struct {
	Role    Role
	Picture int // of a picture and a source: its place in the request from 0
	Digest  [32]byte
}

// Role is what a file is to a record.
type Role string

const (
	SentPicture   Role = "picture" // its bytes as sent
	SourcePicture Role = "source"  // the file that a picture was made from, where it is another
	ScreenReport  Role = "report"
	ScreenModel   Role = "model"
	TheRequest    Role = "request"
	RoundBefore   Role = "round before"  // the request before this one
	RecordBefore  Role = "record before" // the record that this one replaces
)

// Parts returns all files that a record names. One file may be several of them.
func (r Record) Parts() []Part {
	if len(r.Request) == 0 {
		return nil
	}
	var all []Part
	for i, p := range r.Asked.Pictures {
		all = append(all, Part{SentPicture, i, p.Digest})
		if p.Source != p.Digest {
			all = append(all, Part{SourcePicture, i, p.Source})
		}
	}
	for _, p := range []Part{
		{ScreenReport, 0, r.Screen.Report}, {ScreenModel, 0, r.Screen.Model}, {TheRequest, 0, Digest(r.Request)}, {RoundBefore, 0, r.Asked.Earlier}, {RecordBefore, 0, r.Earlier},
	} {
		if p.Digest != [32]byte{} {
			all = append(all, p)
		}
	}
	return all
}
