package check

import (
	"math"
	"math/rand/v2"

	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

// slackTint is how the tint of greys departs from a profile, for its own error and for drift; ours. One thousandth in u'v' is about 1 ΔE00.
var slackTint = trim{slope: 0.0012, knots: 0.0008}

// A foretinge is a tinge whose offset is the whole tint of the plain grey without the correction, and the same with it.
type foretinge struct {
	tinge
	loaded float64
}

// tingeMixAt is how much of the correction is at work, after the parameters of a tinge.
const tingeMixAt = tingeParams

func foretingeDifference(theta []float64, s foretinge, grad []float64) float64 {
	by := s.loaded - s.offset
	s.offset += float64(theta[tingeMixAt] * by)
	d := tingeDifference(theta, s.tinge, grad)
	grad[tingeMixAt] = s.fade * by
	return d
}

// foretoldTint is what neutrals learn of the suppositions, along both axes.
type foretoldTint struct {
	tones        float64         // from -1 to 1: how much more probable line matches have it that the correction is loaded than that it is not
	loaded, bare [3][256]float64 // logarithm of each channel's light by code
	fits         [2][suppositions]*psychophysics.Comparison[foretinge]
	base         [2][suppositions]float64 // their log evidence before any answer
}

// expecting holds neutrals against what a profile says, nil for none.
func (p *neutrals) expecting(e *Expected) procedure {
	if e == nil {
		return p
	}
	t := &foretoldTint{loaded: logLight(&e.Loaded), bare: logLight(&e.Bare)}
	for axis := range t.fits {
		for i := range t.fits[axis] {
			m := tingeModel(axis, slackTint)
			t.fits[axis][i] = psychophysics.NewComparison(psychophysics.Model[foretinge]{
				Priors: append(m.Priors, mixPrior[i]), Difference: foretingeDifference, Outputs: mixOutput(tingeMixAt), OutCount: 1,
				Noises: m.Noises, NoisePrior: m.NoisePrior, Lapse: m.Lapse,
			})
			t.base[axis][i] = t.fits[axis][i].Evidence()
		}
	}
	p.told = t
	return p
}

// logLight is the logarithm of each channel's light by code.
func logLight(channels *[3][Knots]float64) (all [3][256]float64) {
	for i := range channels {
		f := foretell(&channels[i])
		for c := range all[i] {
			all[i][c] = math.Log(max(f.light(float64(c)/255), least))
		}
	}
	return all
}

// tintOf is the tint along both axes of a plain grey with offsets of red and blue, against white.
func tintOf(log *[3][256]float64, code, red, blue int) [2]float64 {
	at := func(c int) int { return min(max(c, 0), 255) }
	g := log[1][at(code)]
	pink, yellow := screen.HueOf(log[0][at(code+red)]-g, log[2][at(code+blue)]-g)
	return [2]float64{pink, yellow}
}

// tinge is a question about a plain grey with offsets of red and blue, which is otherwise like another.
func (t *foretoldTint) tinge(axis, code, red, blue int, like tinge) foretinge {
	like.offset = tintOf(&t.bare, code, red, blue)[axis]
	return foretinge{like, tintOf(&t.loaded, code, red, blue)[axis]}
}

func (t *foretoldTint) record(axis int, x foretinge, share float64) error {
	for _, f := range t.fits[axis] {
		if err := f.Record(x, share); err != nil {
			return err
		}
	}
	return nil
}

// A tintChoice is the question whose answer is expected to tell most of the suppositions apart.
type tintChoice struct {
	gain      float64 // nats; less where the lines were shown before
	at        mix
	axis      int
	code      int
	red, blue int
}

// odds are how probable the suppositions are along an axis, by neutrals and what line matches say of the first two.
func (t *foretoldTint) odds(a *tintAxis, axis int) (p [suppositions]float64) {
	p[isLoaded], p[isBare], p[between] = 0.35+0.35*t.tones, 0.35-0.35*t.tones, 0.3
	for i := range p {
		l, _ := a.sees(t.fits[axis][i].Evidence(), t.base[axis][i])
		if i == int(between) {
			l, _ = a.sees(a.fits[designer].Evidence(), a.base[designer])
		}
		p[i] = math.Log(max(p[i], least)) + l
	}
	doubted(p[:])
	if t.tones > settledTones { // the tones have told these two apart
		p[isBare] = 0
	} else if t.tones < -settledTones {
		p[isLoaded] = 0
	}
	return p
}

// settledTones is how sure line matches must be that it is loaded rather than not, or the other way round, before neutrals leave that be.
const settledTones = 0.98

// search finds it. side is +1 where the plain grey comes on the left, else -1. The widest idea of how well greys are adjusted stands for what is something else.
func (t *foretoldTint) search(p *neutrals, side float64) tintChoice {
	best := tintChoice{gain: -1, at: p.levels[0], axis: p.last, code: 128}
	for axis, a := range p.axes {
		if p.run == 1 && axis != p.last || p.run >= 4 && axis == p.last {
			continue
		}
		odds := t.odds(a, axis)
		gains := [2]*psychophysics.Gain[foretinge]{t.fits[axis][isLoaded].Gain(), t.fits[axis][isBare].Gain()}
		free := a.fits[designer].Gain()
		for _, m := range p.levels {
			code, ok := p.plain(m)
			if !ok {
				continue
			}
			v, fade := p.shade(code)
			loaded, bare, other := t.alike(p, code, isLoaded), t.alike(p, code, isBare), t.other(p, v)
			for _, way := range [...][2][2]float64{{loaded, bare}, {loaded, other}, {bare, other}} {
				want := [2]float64{(way[0][0] + way[1][0]) / 2, (way[0][1] + way[1][1]) / 2}
				red, blue := p.offsets(code, want)
				own := tinge{v, p.tint(code, red, blue)[axis], fade, side}
				x := t.tinge(axis, code, red, blue, own)
				gain := information(odds[:], []float64{gains[0].Chance(x), gains[1].Chance(x), free.Chance(own)}) / (1 + 0.05*float64(p.used[m]))
				if gain > best.gain+1e-9 {
					best = tintChoice{gain, m, axis, code, red, blue}
				}
			}
		}
	}
	return best
}

// alike is the tint along both axes that must be added to a grey for it to look like the lines, as a supposition has it best.
func (t *foretoldTint) alike(p *neutrals, code int, of supposition) (want [2]float64) {
	log := &t.loaded
	if of == isBare {
		log = &t.bare
	}
	v, _ := p.shade(code)
	now := tintOf(log, code, 0, 0)
	for i := range want {
		mode := t.fits[i][of].Mode()
		want[i] = -(now[i] + screen.TintAt(mode, v, nil) + mode[tingeBiasAt])
	}
	return want
}

// other is alike for what is something else.
func (t *foretoldTint) other(p *neutrals, v float64) (want [2]float64) {
	for i := range want {
		mode := p.axes[i].fits[designer].Mode()
		want[i] = -(screen.TintAt(mode, v, nil) + mode[tingeBiasAt])
	}
	return want
}

// choose lays the question out.
func (t *foretoldTint) choose(p *neutrals, left bool, r *rand.Rand) Stimulus {
	side := -1.0
	if left {
		side = 1
	}
	c := t.search(p, side)
	return Stimulus{
		Ground: lineGround, A: c.at.a, B: c.at.b, Lit: c.at.lit, Of: c.at.of, Columns: r.Uint64()&1 == 0,
		Plain: uint8(c.code), PlainLeft: left, Hue: screen.Hues[c.axis], Red: c.red, Blue: c.blue,
	}
}
