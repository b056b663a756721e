package check

import (
	"math"
	"reflect"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns/observer"
)

// gammaSpread is the largest difference between two of three.
func gammaSpread(g [3]float64) float64 { return max(g[0], g[1], g[2]) - min(g[0], g[1], g[2]) }

func TestChannelsBeforeAnyJudgement(t *testing.T) {
	v := newChannels(0).result(stripeRandom(10))
	if p := v.Spread.Within(0, ChannelSpread); p < 0.4 || p > 0.85 {
		t.Errorf("a spread within tolerance is believed beforehand with %.2f", p)
	}
	if len(v.Draws) != StripeDraws || !reflect.DeepEqual(v, newChannels(0).result(stripeRandom(10))) {
		t.Error("the same source gives other draws")
	}
}

// The judgements of a long sitting.
// farGamma is the squared error of gamma above which one does not count for more: a screen out in the tails of what is believed needs more judgements, and one of
// these would decide a sample.
const farGamma = 0.25 * 0.25

const channelSettings, channelTrials = 3, 15

// On screens and viewers of the priors the rms error of gamma is near the bound, the intervals hold what they say, and few screens are called even that are
// not, with doubled noise too. A typical viewer reaches 0.11 of gamma, and 0.16 of blue's.
func TestChannelsRecover(t *testing.T) {
	sessions := 30
	if testing.Short() {
		sessions = 20
	}
	noises, prior := stripeNoises()
	for _, c := range []struct {
		name  string
		noise float64 // 0: drawn
		ratio float64 // of rms error over bound, at most: 1.15 and the scatter of the sample
	}{{"typical", 0.04, 1.3}, {"doubled", 0.08, 1.3}, {"any", 0, 1.3}} {
		r := stripeRandom(11)
		square, bound, held, untrue := [3]float64{}, 0.0, 0, 0
		for range sessions {
			noise := c.noise
			if noise == 0 {
				noise = drawNoise(noises, prior, r)
			}
			s, p := stripedChannels()
			theta := s.truth(r)
			s.answer(t, theta, noise, channelSettings, channelTrials, r)
			v := p.result(r)
			var g [3]float64
			for i := range g {
				g[i] = 2.2 + theta[i] + theta[3]
				d := v.Gamma[i].Mean() - g[i]
				square[i] += min(d*d, farGamma) / float64(sessions)
				if lo, hi := v.Gamma[i].Interval(0.9); lo <= g[i] && g[i] <= hi {
					held++
				}
			}
			b := ChannelsBound(noise, channelSettings, channelTrials)
			bound += b * b / float64(sessions)
			if v.Spread.Within(0, ChannelSpread) > 0.9 && gammaSpread(g) > ChannelSpread {
				untrue++
			}
		}
		rms, bound := math.Sqrt((square[0]+square[1]+square[2])/3), math.Sqrt(bound)
		cover, wrong := float64(held)/float64(3*sessions), float64(untrue)/float64(sessions)
		t.Logf("%s: rms error of gamma %.3f (red %.3f, green %.3f, blue %.3f), bound %.3f, ratio %.2f; 90 %% intervals hold %.1f %%; called even and are not %.1f %%",
			c.name, rms, math.Sqrt(square[0]), math.Sqrt(square[1]), math.Sqrt(square[2]), bound, rms/bound, 100*cover, 100*wrong)
		if testing.Short() {
			continue
		}
		if rms > c.ratio*bound {
			t.Errorf("%s: %.3f, bound %.3f", c.name, rms, bound)
		}
		if c.noise == 0 && math.Abs(cover-0.9) > 0.04+0.03 { // SD 2.7 %
			t.Errorf("%s: intervals hold %.3f", c.name, cover)
		}
		if wrong > 0.04+0.04 { // SD 3.1 %
			t.Errorf("%s: called even and are not %.3f", c.name, wrong)
		}
		if c.noise == 0.04 && (math.Sqrt(square[0]) > 0.11 || math.Sqrt(square[1]) > 0.11 || math.Sqrt(square[2]) > 0.16) {
			t.Errorf("%s: %v", c.name, square)
		}
	}
}

// Virtual viewers find which channel is steeper.
func TestChannelsByVirtualViewers(t *testing.T) {
	d := display.Default()
	tone := func(gamma float64) display.Tone { return display.Tone{Curve: display.Gamma, Gamma: gamma} }
	d.Tone = []display.Tone{tone(2.2), tone(2.15), tone(2.6)}
	m := d.Model()
	kind, _ := observer.KindByName("typical")
	const sessions = 10
	held, steeper, sure := 0, 0, 0
	for i := range sessions {
		r := stripeRandom(20 + uint64(i))
		s, p := stripedChannels()
		s.watch(t, observer.New(kind, &m, r), channelSettings, channelTrials, r)
		v := p.result(r)
		for c, want := range []float64{2.2, 2.15, 2.6} {
			if lo, hi := v.Gamma[c].Interval(0.95); lo <= want && want <= hi {
				held++
			}
		}
		if blue := v.Gamma[2].Mean(); blue > v.Gamma[0].Mean()+0.1 && blue > v.Gamma[1].Mean()+0.1 {
			steeper++
		}
		if v.Spread.Within(0, ChannelSpread) > 0.9 {
			sure++
		}
	}
	t.Logf("of %d sittings %d find blue steeper and %d call the channels even; %d of %d gammas lie in their intervals", sessions, steeper, sure, held, 3*sessions)
	if steeper < sessions*7/10 || sure > 0 || held < 3*sessions*8/10 {
		t.Error("a blue that is steeper by 0.4 is not found")
	}
	s, _ := stripedChannels()
	s.obvious(t, d, stripeRandom(30))
}

// With more judgements, less noise or settings in place of comparisons the bound falls.
func TestChannelsBound(t *testing.T) {
	for _, bound := range []func(float64, int, int) float64{ChannelsBound, AngleBound} {
		last := math.Inf(1)
		for n := range 10 {
			b := bound(0.04, 0, n)
			if !(b < last) || b <= 0 {
				t.Errorf("after %d judgements %.4f, before it %.4f", n, b, last)
			}
			last = b
		}
		if a, b := bound(0.04, 2, 8), bound(0.08, 2, 8); a >= b {
			t.Errorf("%.4f with a noise of 0.04, %.4f with 0.08", a, b)
		}
		if a, b := bound(0.04, 8, 0), bound(0.04, 0, 8); a >= b {
			t.Errorf("%.4f with settings, %.4f with comparisons", a, b)
		}
	}
	// Many settings, half of them at either place, of which a quarter of white is told best: the places' difference by hand, where prior, biases and preference for a
	// side no longer count.
	const noise, many = 0.05, 1_000_000
	p := newAngle(0)
	plain := nearest(&p.curve, 0.25)
	light := p.curve[plain]
	slope := -math.Log(float64(plain)/255) * light / (light + pedestal)
	want := noise / slope * math.Sqrt(4.0/many)
	if got := AngleBound(noise, many, 0); math.Abs(got/want-1) > 0.002 {
		t.Errorf("bound after many settings %.8f, by hand %.8f", got, want)
	}
}
