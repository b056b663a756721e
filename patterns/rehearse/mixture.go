package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
)

// mixtureText documents the random screens for -help.
const mixtureText = `The mixture of random screens. A coin decides whether a screen is to be within every tolerance for colour, for the viewer kind and the aim;
screens are drawn until one is. All magnitudes are assumptions.
  white 80 to 350 cd/m2 and contrast 500 to 3000, log-uniform; room 5 to 300 lx log-uniform, reflectance 0.005 to 0.015
  gamma 2.2 with SD 0.07 (half of screens) or uniform in 1.75 to 2.75; channels differ from green by SD 0.012
  offset: SD 0.004; one screen in five SD 0.02
  S: none; three screens in ten uniform in 0.01 to 0.10
  a smooth remainder of the signal, SD 0.4 %, on one screen in three
  crush: none on 65 %, else uniform in 2 to 30; clip: none on 75 %, else uniform in 225 to 252
  range: full; one in 25 full-as-limited, one in 50 limited-as-full
  bits: 8; one in ten 7, one in ten 6
  tint: on three screens in ten the gammas of red and blue differ from green's by SD 0.07 besides; on half of these all channels have a wobble of their own
  curve: one screen in five has the sRGB curve, moved by SD 0.03 of gamma, instead of a power
  evenness: falls off to the corners by 0 to 12 %, a slope of SD 2 % and blotches of SD 1 %; on one in four the fall is 10 to 40 % or the slope SD 8 %
  primaries: one in four Display P3, the rest sRGB; the browser honours profiles on 29 of 30`

// random draws a screen from the mixture.
func random(seed uint64, kind observer.Kind, plan check.Plan) display.Description {
	r := rand.New(rand.NewPCG(seed, 0x73637265656e))
	good := r.IntN(2) == 0
	for {
		d := draw(r)
		d.Name = fmt.Sprintf("random %d", seed)
		if d.Validate() != nil {
			continue
		}
		if ok := known(d, kind, plan).uses[check.Colour] == report.Holds; ok == good {
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
	tinted, ownWobble := r.Float64() < 0.3, r.IntN(2) == 0
	spread := 0.012
	if tinted {
		spread = 0.07
	}
	toe := r.IntN(5) == 0
	if toe {
		gamma, offset = 2.2+0.03*r.NormFloat64(), 0
	}
	tone := func(gamma float64) display.Tone {
		own := knots
		if tinted && ownWobble {
			for i := range own {
				own[i] += 0.004 * r.NormFloat64()
			}
		} else if !wobble && !toe {
			return display.Tone{Curve: display.Gamma, Gamma: gamma, Offset: offset, S: s}
		}
		if !wobble && !(tinted && ownWobble) {
			own = [screen.Knots]float64{}
		}
		t := screen.Tone{Gamma: gamma, Offset: offset, S: s, Knots: own, Toe: toe}
		samples := make([]float64, 256)
		for c := range samples {
			samples[c] = min(max(t.Light(float64(c)/255), 0), 1)
			if c > 0 {
				samples[c] = max(samples[c], samples[c-1])
			}
		}
		return display.Tone{Curve: display.Samples, Samples: samples}
	}
	d.Tone = []display.Tone{tone(gamma + spread*r.NormFloat64()), tone(gamma), tone(gamma + spread*r.NormFloat64())}
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
	case n < 4:
		d.Bits = 6
	}
	d.Evenness = field(r)
	if r.IntN(4) == 0 {
		d.Primaries.Name = "p3"
	}
	d.Managed = r.IntN(30) > 0
	return d
}

// field draws how even a screen is, at 5 by 5 places from edge to edge.
func field(r *rand.Rand) [][]float64 {
	fall, slope := uniform(r, 0, 0.12), 0.02
	if r.IntN(4) == 0 {
		if r.IntN(2) == 0 {
			fall = uniform(r, 0.10, 0.40)
		} else {
			slope = 0.08
		}
	}
	sx, sy := slope*r.NormFloat64(), slope*r.NormFloat64()
	grid := make([][]float64, 5)
	for i := range grid {
		for j := range 5 {
			x, y := float64(j-2)/2, float64(i-2)/2
			l := -fall*(x*x+y*y)/2 + sx*x + sy*y
			if x != 0 || y != 0 {
				l += 0.01 * r.NormFloat64()
			}
			grid[i] = append(grid[i], math.Exp(l))
		}
	}
	return grid
}
