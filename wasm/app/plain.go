//go:build plain

package app

// Whole: see whole.go.
const Whole = false
