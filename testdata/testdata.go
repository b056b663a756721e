// Package testdata embeds the vectors that tests compare against, so that they run the same natively and in a browser; README.md names the source of each.
package testdata

import "embed"

// FS holds the folders of vectors by their names.
//
//go:embed colour content frames observer psychophysics readings screens seal shelf
var FS embed.FS
