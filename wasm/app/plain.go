//go:build plain

package app

// Gallery: see gallery.go.
const Gallery = false
