//go:build !plain

package app

// Whole tells whether this program does more than checks: proofs, profiles and readings, the journal. Without it the build tag plain leaves all of that out: what the
// page of a check loads is smaller by a quarter. Rows that tell of such things are then left alone where they lie.
const Whole = true
