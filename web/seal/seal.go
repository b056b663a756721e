// Package seal keeps letters and parcels from everybody but their reader: letters by HPKE, parcels chunk by chunk by AES-256-GCM.
//
// It hides what is written, not that something is: whoever stores a letter sees its rounded length, and of a parcel its chunks and their lengths. It does not
// tell who wrote. A letter opens only for a reader whose public key its writer knew, so a key that was handed over in secret vouches for its holders together,
// not for one of them.
package seal

import "errors"

// Errors of opening. Sealed bytes that fail the check of their cipher do so for one reason like for any other: ErrForeign cannot say which.
var (
	ErrVersion   = errors.New("seal: made by another version")
	ErrForeign   = errors.New("seal: not for this key and place, or altered on the way")
	ErrTruncated = errors.New("seal: not whole")
	ErrOrder     = errors.New("seal: a chunk is out of its place")
	ErrExtra     = errors.New("seal: a chunk follows the last one")
	ErrLayout    = errors.New("seal: opens, but is not laid out as its version says")
)

// Errors of what is given to this package.
var (
	ErrKey      = errors.New("seal: not a key")
	ErrKind     = errors.New("seal: a letter is of some kind")
	ErrTooLarge = errors.New("seal: too large")
	ErrChunk    = errors.New("seal: a chunk is full unless it is the last")
	ErrCipher   = errors.New("seal: the cipher failed")
)
