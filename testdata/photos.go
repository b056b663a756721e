package testdata

import "embed"

// Photos holds the folders photos and pictures: files that tests send, and files that tests read.
//
//go:embed photos pictures
var Photos embed.FS
