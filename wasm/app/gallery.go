//go:build !plain

package app

// Gallery tells whether this program can send pictures, look at them and decide about them. Without it the build tag plain leaves all of that out: what the page of a
// check loads is smaller by a quarter. Rows that tell of pictures are then left alone where they lie.
const Gallery = true
