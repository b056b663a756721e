package testdata

import "embed"

// Photos holds the folders photos, pictures and scans: files that tests send, and files that tests read.
//
//go:embed photos pictures scans
var Photos embed.FS
