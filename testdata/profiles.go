package testdata

import "embed"

// Profiles holds the folder icc: colour profiles, and what Little CMS makes of them.
//
//go:embed icc
var Profiles embed.FS
