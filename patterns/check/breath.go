package check

import (
	"math/rand/v2"
	"sync/atomic"
)

// Breathe has f called now and then while the sitting works at what takes long: planning, the next stimulus, results. What f does may take any time, so that whoever has one
// thread can let something else run; but it must not call the sitting. nil is nothing, as at first.
func (s *Sitting) Breathe(f func()) { s.breath = f }

// Breath calls what Breathe was given. It is for what works at a sitting's results from outside.
func (s *Sitting) Breath() {
	if s.breath != nil {
		s.breath()
	}
}

// A breathing is a source of random numbers with a breath now and then: what draws many takes long.
type breathing struct {
	rand.Source
	breath func()
	drawn  int
}

func (b *breathing) Uint64() uint64 {
	if b.drawn++; b.drawn%512 == 0 {
		b.breath()
	}
	return b.Source.Uint64()
}

// A shared is a large table that all sittings share, made the first time it is asked for. While it is made others may ask: who does makes another like it, and waits for nobody.
type shared[T any] struct {
	make func(breath func()) *T
	made atomic.Pointer[T]
}

func (s *shared[T]) get(breath func()) *T {
	if s.made.Load() == nil {
		s.made.CompareAndSwap(nil, s.make(breath))
	}
	return s.made.Load()
}

// breathless is a breath for what is made at once.
func breathless() {}
