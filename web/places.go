//go:build !js

package web

// places is how many a limiter has.
const places = 1 << 16
