package transfer

import (
	"fmt"
	"math"
	"sort"
)

// Sampled is a function known at equally spaced signals from 0 to 1 and taken as straight between them. Make it with NewSampled; the
// zero value gives 0 both ways.
type Sampled struct{ light []float64 }

// NewSampled returns the function through the given light, first that of signal 0 and last that of signal 1. It keeps a copy. There
// must be two samples or more, each in [0,1] and none below the one before it.
func NewSampled(light []float64) (Sampled, error) {
	if len(light) < 2 {
		return Sampled{}, fmt.Errorf("transfer: %d samples: give two or more, from signal 0 to signal 1", len(light))
	}
	for i, l := range light {
		if !(l >= 0 && l <= 1) {
			return Sampled{}, fmt.Errorf("transfer: sample %d is %v: light runs from 0 to 1", i, l)
		}
		if i > 0 && l < light[i-1] {
			return Sampled{}, fmt.Errorf("transfer: sample %d falls from %v to %v: light must not fall as the signal rises", i, light[i-1], l)
		}
	}
	return Sampled{append([]float64(nil), light...)}, nil
}

// Light returns the light of a signal, which is clamped to [0,1].
func (t Sampled) Light(s float64) float64 {
	if len(t.light) == 0 || math.IsNaN(s) {
		return 0
	}
	at := clamp(s) * float64(len(t.light)-1)
	i := min(int(at), len(t.light)-2)
	return t.light[i] + float64((at-float64(i))*(t.light[i+1]-t.light[i]))
}

// Signal returns the least signal that gives the light; 0 for less light than there is, and for more the least signal of the most light.
func (t Sampled) Signal(l float64) float64 {
	if len(t.light) == 0 || math.IsNaN(l) {
		return 0
	}
	l = min(l, t.light[len(t.light)-1])
	i := sort.SearchFloat64s(t.light, l) // least i with light[i] >= l
	if i == 0 {
		return 0
	}
	part := (l - t.light[i-1]) / (t.light[i] - t.light[i-1])
	return (float64(i-1) + part) / float64(len(t.light)-1)
}
