package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// mixtureText documents the random screens for -help.
const mixtureText = `The mixture of random screens. A coin decides whether a screen is to be within the tolerances for light and shade, for the viewer kind and
the usual aim; screens are drawn until one is. All magnitudes are assumptions.
  white 80 to 350 cd/m2 and contrast 500 to 3000, log-uniform; room 5 to 300 lx log-uniform, reflectance 0.005 to 0.015
  gamma 2.2 with SD 0.07 (half of screens) or uniform in 1.75 to 2.75; channels differ from green by SD 0.012
  offset: SD 0.004; one screen in five SD 0.02
  S: none; three screens in ten uniform in 0.01 to 0.10
  a smooth remainder of the signal, SD 0.4 %, on one screen in three
  crush: none on 65 %, else uniform in 2 to 30; clip: none on 75 %, else uniform in 225 to 252
  range: full; one in 25 full-as-limited, one in 50 limited-as-full
  bits: 8; one in ten 7, one in twenty 6`

// random draws a screen from the mixture.
func random(seed uint64, kind observer.Kind) display.Description {
	r := rand.New(rand.NewPCG(seed, 0x73637265656e))
	aim := screen.Aims[0]
	good := r.IntN(2) == 0
	for {
		d := draw(r)
		d.Name = fmt.Sprintf("random %d", seed)
		if d.Validate() != nil {
			continue
		}
		ok := true
		for _, v := range known(d, kind, aim).verdicts {
			ok = ok && v == report.Holds
		}
		if ok == good {
			return d
		}
	}
}

func uniform(r *rand.Rand, lo, hi float64) float64 { return lo + float64((hi-lo)*r.Float64()) }
func logUniform(r *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(math.Log(hi/lo)*r.Float64())
}

func draw(r *rand.Rand) display.Description {
	d := display.Default()
	d.White.Luminance = logUniform(r, 80, 350)
	d.Black = d.White.Luminance / logUniform(r, 500, 3000)
	d.Room.Lux = logUniform(r, 5, 300)
	d.Room.Reflectance = uniform(r, 0.005, 0.015)
	gamma := 2.2 + 0.07*r.NormFloat64()
	if r.IntN(2) == 0 {
		gamma = uniform(r, 1.75, 2.75)
	}
	offset := 0.004 * r.NormFloat64()
	if r.IntN(5) == 0 {
		offset = 0.02 * r.NormFloat64()
	}
	s := 0.0
	if r.IntN(10) < 3 {
		s = uniform(r, 0.01, 0.10)
	}
	wobble := r.IntN(3) == 0
	var knots [screen.Knots]float64
	for i := range knots {
		knots[i] = 0.004 * r.NormFloat64()
	}
	tone := func(gamma float64) display.Tone {
		if !wobble {
			return display.Tone{Curve: display.Gamma, Gamma: gamma, Offset: offset, S: s}
		}
		t := screen.Tone{Gamma: gamma, Offset: offset, S: s, Knots: knots}
		samples := make([]float64, 256)
		for c := range samples {
			samples[c] = min(max(t.Light(float64(c)/255), 0), 1)
			if c > 0 {
				samples[c] = max(samples[c], samples[c-1])
			}
		}
		return display.Tone{Curve: display.Samples, Samples: samples}
	}
	d.Tone = []display.Tone{tone(gamma + 0.012*r.NormFloat64()), tone(gamma), tone(gamma + 0.012*r.NormFloat64())}
	if r.Float64() < 0.35 {
		d.Crush = 2 + r.IntN(29)
	}
	if r.Float64() < 0.25 {
		d.Clip = 225 + r.IntN(28)
	}
	switch n := r.IntN(50); {
	case n < 2:
		d.Range = "full-as-limited"
	case n < 3:
		d.Range = "limited-as-full"
	}
	switch n := r.IntN(20); {
	case n < 2:
		d.Bits = 7
	case n < 3:
		d.Bits = 6
	}
	return d
}
