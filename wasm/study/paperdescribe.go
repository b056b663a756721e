package study

import (
	"crypto/sha256"
	"fmt"
)

// Describe says what the file of a task is: a Paper, or why it is none.
func (t Task) Describe() Found {
	if len(t.File) == 0 {
		return Found{Refused: &Refusal{Why: "The file is empty.", Do: "Save or export it anew."}}
	}
	if len(t.File) > MostPaper {
		return Found{Refused: &Refusal{Why: fmt.Sprintf("The file has %.1f MB, and %d MB are the most.", float64(len(t.File))/1e6, MostPaper/1_000_000), Do: "Take a profile of fewer grid points, or fewer patches."}}
	}
	p := &Paper{Digest: sha256.Sum256(t.File), Size: int64(len(t.File))}
	var refused *Refusal
	if looksLikeProfile(t.Name, t.File) {
		p.Profile, refused = t.profile(p.Digest)
	} else {
		p.Readings, refused = t.readings()
	}
	if refused != nil {
		return Found{Refused: refused}
	}
	return Found{Paper: p}
}
