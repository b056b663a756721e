//go:build release

package main

import (
	"embed"
	"io/fs"
)

// The folder is not in the source: the command that builds a release puts it here for the compiler alone.
//
//go:embed carried
var folder embed.FS

func init() {
	var err error
	if carried, err = fs.Sub(folder, "carried"); err != nil {
		panic("server: " + err.Error())
	}
}
