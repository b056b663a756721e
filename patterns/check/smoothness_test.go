package check

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"example.org/plumb/colour/display"
	"example.org/plumb/patterns"
	"example.org/plumb/patterns/observer"
	"example.org/plumb/patterns/psychophysics"
	"example.org/plumb/patterns/screen"
)

var displayRanges = [screen.Ranges]display.Range{screen.Full: display.Full, screen.Squeezed: display.FullAsLimited, screen.Lifted: display.LimitedAsFull}

// Codes part from each other where a screen of the display model makes different light of them, whatever the range and the depth. How many do not
// follows from the depth: of 255 steps of a full range, 255 less those between its levels; of a range mismatch at 8 bits, 16 + 20 that are cut off or 36
// that 219 steps have no room for.
func TestSmoothnessMergesAsDisplaysDo(t *testing.T) {
	for r := range screen.Ranges {
		for bits := leastDepth; bits < leastDepth+depths; bits++ {
			d := display.Default()
			d.Range, d.Bits = displayRanges[r], bits
			m := d.Model()
			light := depthLight(r, bits, 2.2)
			count := 0
			for c := range 255 {
				merged := m.Grey(uint8(c)) == m.Grey(uint8(c+1))
				if ours := depthSignal(c, r, bits) == depthSignal(c+1, r, bits); ours != merged || ours != (light[c] == light[c+1]) {
					t.Errorf("%v, %d bits: codes %d and %d merge is %v, want %v", r, bits, c, c+1, ours, merged)
				}
				if merged {
					count++
				}
			}
			if got := missing(r, bits); got != count || int(smoothMissing()[r][bits-leastDepth]) != count {
				t.Errorf("%v, %d bits: %d steps are missing, want %d", r, bits, got, count)
			}
			if want := 256 - 1<<bits; r == screen.Full && count != want {
				t.Errorf("%d bits: %d steps are missing, want %d", bits, count, want)
			}
			if r != screen.Full && bits == 8 && count != 36 {
				t.Errorf("%v: %d steps are missing, want 36", r, count)
			}
			// A power of 2.2, black of 0.16 and white of 160 are those of the default display; only the veil differs.
			for c := range 256 {
				if want := m.Grey(uint8(c)) - m.Veil() + smoothVeil; math.Abs(light[c]/want-1) > 1e-9 {
					t.Fatalf("%v, %d bits: code %d has %.9f cd/m², want %.9f", r, bits, c, light[c], want)
				}
			}
		}
	}
}

// Steps of one code in JNDs of the GSDF, computed apart from this package (white of 120 and 300 cd/m², contrast 1000, gamma 2.2) as differences of the
// index. Here they are multiples of the JND at the darker light, as viewers' thresholds are, which is a little more.
func TestSmoothnessSteps(t *testing.T) {
	for _, v := range []struct{ light, step, jnd float64 }{
		{0.7819, 0.06220, 2.90}, {1.0819, 0.06220, 2.40}, {1.9549, 0.15550, 4.10}, {5.8474, 0.19873, 2.54}, {6.1474, 0.19873, 2.46}, {14.9184, 0.49681, 3.20},
		{14.0951, 0.32227, 2.18}, {26.7360, 0.45443, 1.86}, {66.3901, 1.13607, 2.16},
	} {
		if got := jnds(v.light, v.light+v.step); got < v.jnd || got > v.jnd*1.03 {
			t.Errorf("%g cd/m² and %g more: %.4f JND, want %.2f or little more", v.light, v.step, got, v.jnd)
		}
		if jnds(v.light, v.light+v.step) != jnds(v.light+v.step, v.light) || jnds(v.light, v.light) != 0 {
			t.Errorf("%g cd/m²: a step is not one and the same both ways", v.light)
		}
	}
}

// The coarse ramp that is reckoned with is the one that is painted.
func TestSmoothnessRampsArePainted(t *testing.T) {
	dst := image.NewRGBA(image.Rect(0, 0, 700, 300))
	top, bottom := patterns.RampRects(dst.Rect)
	p := beginSmoothness(Plan{})
	for _, m := range ramps {
		p.pattern(Stimulus{Ground: smoothGround, A: m.from, B: m.to, Bits: m.bits}, dst.Rect, 0).Paint(dst, dst.Rect)
		for x := top.Min.X; x < top.Max.X; x++ {
			native, coarse := dst.RGBAAt(x, top.Min.Y).G, dst.RGBAAt(x, bottom.Min.Y).G
			if native < m.from || native > m.to || m.level(native) != coarse {
				t.Fatalf("%+v: code %d becomes %d, painted %d", m, native, m.level(native), coarse)
			}
		}
		if dst.RGBAAt(top.Min.X, top.Min.Y).G != m.from || dst.RGBAAt(top.Max.X-1, top.Min.Y).G != m.to {
			t.Errorf("%+v: the native ramp has other ends", m)
		}
	}
}

// On a screen whose depth is not above the coarse ramp's both are alike; on a finer one the native is the smoother, the more so the coarser the other.
func TestSmoothnessRampsTell(t *testing.T) {
	for _, bits := range []int{5, 6, 7, 8} {
		light := depthLight(screen.Full, bits, 2.2)
		last := 0.0
		for _, m := range ramps[:3] { // 7, 6, 5 bits
			p := told(m.roughness(light, func(c uint8) uint8 { return c }), m.roughness(light, m.level), 1.7)
			switch {
			case bits <= m.bits && math.Abs(p-0.5) > 0.03, bits > m.bits && p < 0.65, p > 1-rampLapse/2, p < last-1e-3:
				t.Errorf("%d bits, coarse ramp of %d: the native one is called the smoother %.3f of the time", bits, m.bits, p)
			}
			last = p
		}
	}
	if p := told(2, 2, 1); p != 0.5 {
		t.Errorf("equal ramps: %g", p)
	}
	if a, b := told(1, 4, 1.7), told(4, 1, 1.7); math.Abs(a+b-1) > 1e-12 {
		t.Errorf("%g, and with the ramps exchanged %g", a, b)
	}
	for _, p := range []float64{told(0, 0, 1), told(0, 1000, 1), told(1000, 0, 1)} {
		if !(p > 0 && p < 1) {
			t.Errorf("probability %g", p)
		}
	}
}

// A smoothViewer answers by the law that the check assumes.
type smoothViewer struct {
	bits             int
	r                screen.Range
	gamma, threshold float64
	lapse            float64
}

func (v smoothViewer) answer(s Stimulus, light *[256]float64, r *rand.Rand) int {
	if s.Bits == 0 {
		if r.Float64() < psychophysics.Weibull(jnds(light[s.Left], light[s.Patch])/v.threshold, seeing, v.lapse, 4) {
			return s.Cell
		}
		return (s.Cell + 1 + r.IntN(3)) % 4
	}
	m := ramp{s.A, s.B, s.Bits}
	native := r.Float64() < told(m.roughness(light, func(c uint8) uint8 { return c }), m.roughness(light, m.level), v.threshold)
	if native == s.PlainLeft {
		return 1
	}
	return 0
}

// smoothRun lets the viewer answer n trials of a sitting.
func smoothRun(t testing.TB, p *smoothness, v smoothViewer, n int, r *rand.Rand) *smoothness {
	t.Helper()
	light := depthLight(v.r, v.bits, v.gamma)
	for i := range n {
		s := p.choose(Trial, i, i%2 == 0, r)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: v.answer(s, light, r)}); err != nil {
			t.Fatal(err)
		}
	}
	return p
}

// likeliest returns the depth of the greatest probability.
func likeliest(e psychophysics.Estimate) int {
	at := 0
	for i := range e.Mass {
		if e.Mass[i] > e.Mass[at] {
			at = i
		}
	}
	return int(e.At[at])
}

// A smoothTally counts what was found of one kind of screen and viewer.
type smoothTally struct{ runs, named, holds8, off8, holds7, off7 int }

func (a *smoothTally) add(e psychophysics.Estimate, bits int) {
	a.runs++
	if likeliest(e) == bits {
		a.named++
	}
	for _, v := range []struct {
		p          float64
		holds, off *int
	}{{e.Within(8, 8), &a.holds8, &a.off8}, {e.Within(7, 8), &a.holds7, &a.off7}} {
		if v.p > 0.9 {
			*v.holds++
		} else if v.p < 0.1 {
			*v.off++
		}
	}
}

// wrong returns how many runs ended with a verdict that is wrong. Whatever holds for 8 bits holds for 7, and what is off for 7 is off for 8.
func (a smoothTally) wrong(bits int) (holds, off int) {
	switch bits {
	case 8:
		return 0, a.off8
	case 7:
		return a.holds8, a.off7
	}
	return a.holds7, 0
}

// smoothRuns has the viewer sit so often; ranges are those of result.
func smoothRuns(t testing.TB, length Length, v smoothViewer, n, runs int, ranges [screen.Ranges]float64) smoothTally {
	t.Helper()
	var a smoothTally
	for seed := range runs {
		r := rand.New(rand.NewPCG(uint64(seed), uint64(v.threshold*100)<<16|uint64(v.bits)<<8|uint64(v.r)))
		p := smoothRun(t, beginSmoothness(Plan{Length: length}), v, n, r)
		a.add(p.result(ranges, r).Bits, v.bits)
	}
	return a
}

func smoothMany(n int) int {
	if testing.Short() {
		return n / 4
	}
	return n
}

// Sixteen judgements name the depth in 95 % of cases or more, for viewers with thresholds up to 2 before screens of 5, 6, 7 and 8 bits alike; 96.4 % was
// seen in our earlier simulation of the same question. Screens of another range are not called short of 8 bits when they have them. When they do not, this
// check alone may miss it now and then, and less often once the range is known from other checks.
func TestSmoothnessRecovers(t *testing.T) {
	for _, length := range []Length{Short, Standard} {
		var named, runs, falseHolds, falseOff int
		for _, threshold := range []float64{1, 1.7, 2} {
			for bits := 5; bits <= 8; bits++ {
				a := smoothRuns(t, length, smoothViewer{bits, screen.Full, 2.2, threshold, 0.03}, 16, smoothMany(16), [screen.Ranges]float64{})
				named, runs = named+a.named, runs+a.runs
				h, o := a.wrong(bits)
				falseHolds, falseOff = falseHolds+h, falseOff+o
			}
		}
		t.Logf("%s: %d of %d named, %d false holds and %d false off", length, named, runs, falseHolds, falseOff)
		if named*100 < runs*95 || falseHolds*50 > runs || falseOff*50 > runs {
			t.Errorf("%s: %d of %d named, %d false holds and %d false off", length, named, runs, falseHolds, falseOff)
		}
	}
	for _, known := range []bool{false, true} {
		low, falseHolds, full, falseOff := 0, 0, 0, 0
		for _, r := range []screen.Range{screen.Squeezed, screen.Lifted} {
			for bits := 5; bits <= 8; bits++ {
				var ranges [screen.Ranges]float64
				if known {
					ranges[r] = 1
				}
				a := smoothRuns(t, Standard, smoothViewer{bits, r, 2.2, 1.7, 0.03}, 16, smoothMany(24), ranges)
				h, o := a.wrong(bits)
				if bits == 8 {
					full, falseOff = full+a.runs, falseOff+o
					continue
				}
				low, falseHolds = low+a.runs, falseHolds+h
				if o*20 > a.runs {
					t.Errorf("%v, %d bits: %d false off of %d", r, bits, o, a.runs)
				}
			}
		}
		t.Logf("another range, known %v: of %d with few bits %d false holds; of %d with 8 bits %d false off", known, low, falseHolds, full, falseOff)
		limit := 0.08 // by this check alone; both faults in one screen are rare, and most such runs that err are of that kind
		if known {
			limit = 0.04
		}
		if float64(falseHolds) > limit*float64(low) || falseOff*20 > full {
			t.Errorf("another range, known %v: of %d with few bits %d false holds; of %d with 8 bits %d false off", known, low, falseHolds, full, falseOff)
		}
	}
}

// Viewers who see little leave it unsure rather than be wrong; those who click at random find nothing.
func TestSmoothnessOfPoorViewers(t *testing.T) {
	for _, v := range []struct {
		name             string
		threshold, lapse float64
		short            int // per cent named, at most missed
	}{{"casual", 3, 0.06, 12}, {"double", 3.4, 0.03, 12}, {"clicker", smoothBlind, 0.95, 100}} {
		holds, off, named, runs := 0, 0, 0, 0
		for bits := 5; bits <= 8; bits++ {
			a := smoothRuns(t, Standard, smoothViewer{bits, screen.Full, 2.2, v.threshold, v.lapse}, 16, smoothMany(30), [screen.Ranges]float64{})
			h, o := a.wrong(bits)
			holds, off, named, runs = holds+h, off+o, named+a.named, runs+a.runs
		}
		t.Logf("%s: %d of %d named, %d false holds and %d false off", v.name, named, runs, holds, off)
		if holds*25 > runs || off*25 > runs || named*100 < runs*(100-v.short) {
			t.Errorf("%s: %d of %d named, %d false holds and %d false off", v.name, named, runs, holds, off)
		}
	}
}

// What is believed comes true as often as it says, for screens and viewers as the prior has them.
func TestSmoothnessIsCalibrated(t *testing.T) {
	n := smoothMany(200)
	fresh := smoothFresh.get(breathless)
	var stated, variance float64
	right := 0
	for seed := range n {
		r := rand.New(rand.NewPCG(uint64(seed), 77))
		u, at := r.Float64(), 0
		for u -= fresh.prior[0]; u > 0 && at < len(fresh.prior)-1; u -= fresh.prior[at] {
			at++
		}
		depth, rg, threshold := smoothAt(at)
		gamma := smoothGammas[at/len(smoothThresholds)%len(smoothGammas)]
		p := smoothRun(t, beginSmoothness(Plan{Length: Standard}), smoothViewer{leastDepth + depth, rg, gamma, threshold, lapse}, 9, r)
		e := p.result([screen.Ranges]float64{}, r).Bits
		best := likeliest(e)
		m := e.Within(float64(best), float64(best))
		stated += m
		variance += m * (1 - m)
		if best == leastDepth+depth {
			right++
		}
	}
	t.Logf("%d of %d right, %.1f stated", right, n, stated)
	if math.Abs(float64(right)-stated) > 3.3*math.Sqrt(variance)+1 {
		t.Errorf("%d of %d right, %.1f stated", right, n, stated)
	}
}

// A virtual viewer before a display finds its depth from painted frames alone, by another law for ramps than the one assumed.
func TestSmoothnessOfVirtualViewers(t *testing.T) {
	bounds := image.Rect(0, 0, 320, 240)
	dst := image.NewRGBA(bounds)
	k, ok := observer.KindByName("typical")
	if !ok {
		t.Fatal("no typical viewer")
	}
	named, runs := 0, 0
	for bits := 5; bits <= 8; bits++ {
		d := display.Default()
		d.Bits = bits
		d.Tone = []display.Tone{{Curve: display.SRGB}}
		m := d.Model()
		for seed := range smoothMany(8) {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(bits)))
			v := observer.New(k, &m, r)
			p := beginSmoothness(Plan{Length: Standard})
			for i := range 16 {
				s := p.choose(Trial, i, i%2 == 0, r)
				p.pattern(s, bounds, 0).Paint(dst, bounds)
				task, _, choices := p.ask(s, Trial, bounds, 0)
				rects := make([]image.Rectangle, len(choices))
				for i, c := range choices {
					rects[i] = c.Rect
				}
				response := 0
				if task == Smoother {
					response = v.Smoother(dst, rects[0], rects[1])
				} else {
					response = v.Different(dst, rects)
				}
				if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: response}); err != nil {
					t.Fatal(err)
				}
			}
			runs++
			if likeliest(p.result([screen.Ranges]float64{}, r).Bits) == bits {
				named++
			}
		}
	}
	t.Logf("%d of %d named", named, runs)
	if named*10 < runs*9 {
		t.Errorf("%d of %d named", named, runs)
	}
}

// The slow twin: the posterior and the evidence of each range from the log of answers alone, hypothesis by hypothesis.
func TestSmoothnessAgainstItsFormula(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	p := beginSmoothness(Plan{Length: Long})
	light := depthLight(screen.Lifted, 7, 2.2)
	v := smoothViewer{7, screen.Lifted, 2.2, 1.7, 0.03}
	var log []Judgement
	for i := range 24 {
		j := Judgement{Kind: Trial, Stimulus: p.choose(Trial, i, i%3 == 0, r)}
		j.Response = v.answer(j.Stimulus, light, r)
		if i%7 == 3 {
			j.Response = CantTell
		}
		log = append(log, j)
		if err := p.record(j); err != nil {
			t.Fatal(err)
		}
	}
	var mass [screen.Ranges][9]float64
	var evidence [screen.Ranges]float64
	for bits := 5; bits <= 8; bits++ {
		for rg, byRange := range screen.RangePrior {
			for gi, gamma := range smoothGammas {
				var light [256]float64
				for c := range light {
					n := math.Pow(2, float64(bits)) - 1
					v := math.Floor(screen.Range(rg).Send(float64(c)/255)*n+0.5) / n
					light[c] = 0.46 + 159.84*math.Pow(v, gamma)
				}
				sum := 0.0
				for _, th := range smoothThresholds[:24] {
					sum += math.Pow(1+math.Pow(math.Log(th/1.7)/0.5, 2)/4, -2.5)
				}
				for _, th := range smoothThresholds {
					w := 0.9 * math.Pow(1+math.Pow(math.Log(th/1.7)/0.5, 2)/4, -2.5) / sum
					if th == 1000 {
						w = 0.1
					}
					w *= smoothGammaPrior[gi] * depthPrior[bits-5]
					for _, j := range log {
						s := j.Stimulus
						if s.Bits != 0 {
							m := ramp{s.A, s.B, s.Bits}
							q := told(m.roughness(&light, func(c uint8) uint8 { return c }), m.roughness(&light, m.level), th)
							switch {
							case j.Response == CantTell:
								q = 0.5
							case (j.Response == 0) == s.PlainLeft:
								q = 1 - q
							}
							w *= q
							continue
						}
						q := 0.25 + 0.75*0.97*(1-math.Exp(-math.Pow(jnds(light[s.Left], light[s.Patch])/th, 2.5)))
						switch j.Response {
						case CantTell:
							q = 0.25*q + 0.75*(1-q)
						case s.Cell:
						default:
							q = 1 - q
						}
						w *= q
					}
					mass[rg][bits] += w * byRange
					evidence[rg] += w
				}
			}
		}
	}
	total := 0.0
	for _, m := range mass {
		for _, w := range m {
			total += w
		}
	}
	res := p.result([screen.Ranges]float64{}, r)
	for bits := 5; bits <= 8; bits++ {
		want := 0.0
		for rg := range mass {
			want += mass[rg][bits] / total
			one := 0.0
			for _, w := range mass[rg] {
				one += w
			}
			if got, want := res.By[rg].Within(float64(bits), float64(bits)), mass[rg][bits]/one; math.Abs(got-want) > 1e-9 {
				t.Errorf("%v: %d bits have %.12f, want %.12f", screen.Range(rg), bits, got, want)
			}
		}
		if got := res.Bits.Within(float64(bits), float64(bits)); math.Abs(got-want) > 1e-9 {
			t.Errorf("%d bits have %.12f, want %.12f", bits, got, want)
		}
	}
	got := p.ranges()
	for rg := range got {
		if d := got[rg] - got[0] - math.Log(evidence[rg]/evidence[0]); math.Abs(d) > 1e-8 {
			t.Errorf("%v: the log evidence is off by %g", screen.Range(rg), d)
		}
	}
}

// The gain of a stimulus is by how much the entropy of depth and range falls on average over its two outcomes, the other checks having said what they know.
func TestSmoothnessGain(t *testing.T) {
	for _, ranges := range [][screen.Ranges]float64{{}, screen.RangePrior, {0.4, 0.1, 0.5}} {
		smoothnessGain(t, ranges)
	}
}

func smoothnessGain(t *testing.T, ranges [screen.Ranges]float64) {
	r := rand.New(rand.NewPCG(5, 6))
	p := smoothRun(t, beginSmoothness(Plan{}), smoothViewer{8, screen.Full, 2.2, 1.7, 0.03}, 5, r)
	p.hear(context{hi: 255, ranges: ranges})
	weight := [screen.Ranges]float64{1, 1, 1}
	for i, v := range ranges {
		if ranges != ([screen.Ranges]float64{}) {
			weight[i] = v / screen.RangePrior[i]
		}
	}
	all := 0.0
	for i, m := range p.mass {
		_, rg, _ := smoothAt(i)
		all += m * weight[rg]
	}
	entropy := func(mass []float64) (h, sum float64) {
		by := map[[2]int]float64{}
		for i, m := range mass {
			d, rg, _ := smoothAt(i)
			by[[2]int{d, int(rg)}] += m * weight[rg] / all
			sum += m * weight[rg] / all
		}
		for _, m := range by {
			if m > 0 {
				h -= m / sum * math.Log(m/sum)
			}
		}
		return h, sum
	}
	now, _ := entropy(p.mass)
	for _, s := range []int{0, 7, 40, smoothPairs - 1, smoothPairs, len(p.p) - 1} {
		want := now
		for _, right := range []bool{true, false} {
			after := make([]float64, len(p.mass))
			for i, m := range p.mass {
				after[i] = m * p.p[s][i]
				if !right {
					after[i] = m - after[i]
				}
			}
			h, sum := entropy(after)
			want -= sum * h
		}
		if got := p.gain(s); math.Abs(got-want) > 1e-9 {
			t.Errorf("stimulus %d: gain %.12f, want %.12f", s, got, want)
		}
	}
}

// What is asked is what tells most: codes next to each other from 24 to 114 on one ground, or two ramps with either on top, none of them more than twice and
// none that is lost.
func TestSmoothnessChooses(t *testing.T) {
	all, most := 0, 0
	for _, heard := range []context{{hi: 255}, {lo: 30, hi: 250}, {lo: 75, hi: 180}, {lo: 100, hi: 112}} {
		for bits := 5; bits <= 8; bits++ {
			p := beginSmoothness(Plan{Length: Standard})
			p.hear(heard)
			r := rand.New(rand.NewPCG(1, uint64(heard.lo+bits)))
			seen := map[[3]uint8]int{}
			n := min(24, 2*(min(heard.hi-1, stepTo+1)-max(heard.lo+1, stepFrom)))
			light := depthLight(screen.Full, bits, 2.2)
			ramped := 0
			for i := range n {
				left := i%2 == 0
				s := p.choose(Trial, i, left, rand.New(rand.NewPCG(1, uint64(i))))
				if again := p.choose(Trial, i, left, rand.New(rand.NewPCG(1, uint64(i)))); again != s {
					t.Fatalf("%+v, then %+v", s, again)
				}
				lo, hi, at := int(s.Left), int(s.Patch), int(s.Left)-stepFrom
				if s.Bits != 0 {
					ramped++
					lo, hi = int(s.A), int(s.B)
					at = smoothPairs + slices.Index(ramps, ramp{s.A, s.B, s.Bits})
					if s.PlainLeft != left || at < smoothPairs {
						t.Fatalf("%+v with the coarse ramp on top %v", s, left)
					}
				} else if hi != lo+1 || lo < stepFrom || lo > stepTo || s.Cell < 0 || s.Cell > 3 {
					t.Fatalf("%+v", s)
				}
				key := [3]uint8{uint8(lo), uint8(hi), uint8(s.Bits)}
				if seen[key]++; seen[key] > mostRepeats {
					t.Errorf("%+v is asked about %d times", s, seen[key])
				}
				if lo <= heard.lo || hi >= heard.hi || s.Ground != smoothGround {
					t.Errorf("%+v, where %d and %d are lost", s, heard.lo, heard.hi)
				}
				for other := range p.p {
					lo, hi := stepFrom+other, stepFrom+other+1
					if other >= smoothPairs {
						lo, hi = int(ramps[other-smoothPairs].from), int(ramps[other-smoothPairs].to)
					}
					if p.used[other] < mostRepeats && lo > heard.lo && hi < heard.hi && p.gain(other) > p.gain(at)+1e-6 {
						t.Errorf("%+v tells %.6f, stimulus %d would %.6f", s, p.gain(at), other, p.gain(other))
					}
				}
				if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: smoothViewer{bits, screen.Full, 2.2, 1.7, 0.03}.answer(s, light, r)}); err != nil {
					t.Fatal(err)
				}
			}
			all, most = all+ramped, max(most, ramped)
		}
	}
	if all == 0 || most > 8 {
		t.Errorf("%d ramps in all, %d in one sitting", all, most)
	}
	// With nothing left to ask about there is still a question, and no end of it.
	p := beginSmoothness(Plan{Length: Long})
	p.hear(context{lo: 200, hi: 201})
	for i := range 8 {
		if s := p.choose(Trial, i, true, rand.New(rand.NewPCG(1, 1))); s.Patch != s.Left+1 {
			t.Errorf("%+v", s)
		}
	}
}

// Practice and catch trials differ by 12 codes, which makes light of its own at any depth and range, and say whether the answer was right.
func TestSmoothnessObvious(t *testing.T) {
	p := beginSmoothness(Plan{Length: Long})
	for n := range 200 {
		s := p.choose([]Kind{Practice, Catch}[n%2], n/2, n%4 < 2, rand.New(rand.NewPCG(uint64(n), 1)))
		for r := range screen.Ranges {
			for bits := 5; bits <= 8; bits++ {
				if light := depthLight(r, bits, 2.6); jnds(light[s.Left], light[s.Patch]) < 9 {
					t.Errorf("%+v, %v, %d bits: %.1f JND", s, r, bits, jnds(light[s.Left], light[s.Patch]))
				}
			}
		}
		task, _, choices := p.ask(s, Catch, image.Rect(0, 0, 320, 240), 0)
		if task != OddQuadrant || len(choices) != 4 || s.Left <= mostLost || int(s.Patch) >= 255-mostLost {
			t.Errorf("%v, %+v, %+v", task, choices, s)
		}
		for i := CantTell; i < 4; i++ {
			if p.right(s, i) != (i == s.Cell) {
				t.Errorf("%+v: right is %v for %d", s, p.right(s, i), i)
			}
		}
	}
}

// The choices point at what is painted: the quadrant that differs, the ramps.
func TestSmoothnessChoicesPointAtWhatIsPainted(t *testing.T) {
	p := beginSmoothness(Plan{})
	bounds := image.Rect(0, 0, 400, 300)
	dst := image.NewRGBA(bounds)
	for cell := range 4 {
		s := Stimulus{Ground: smoothGround, Left: 80, Patch: 92, Cell: cell}
		p.pattern(s, bounds, 0).Paint(dst, bounds)
		_, _, choices := p.ask(s, Trial, bounds, 0)
		for i, c := range choices {
			want := s.Left
			if i == cell {
				want = s.Patch
			}
			mid := c.Rect.Min.Add(c.Rect.Size().Div(2))
			if got := dst.RGBAAt(mid.X, mid.Y).G; got != want {
				t.Errorf("%s of %+v is %d", c.Label, s, got)
			}
		}
	}
	for _, onTop := range []bool{false, true} {
		s := Stimulus{Ground: smoothGround, A: 32, B: 96, Bits: 5, PlainLeft: onTop}
		p.pattern(s, bounds, 0).Paint(dst, bounds)
		task, _, choices := p.ask(s, Trial, bounds, 0)
		if task != Smoother || len(choices) != 2 {
			t.Fatalf("%v, %+v", task, choices)
		}
		for i, c := range choices {
			codes := map[uint8]bool{}
			for x := c.Rect.Min.X; x < c.Rect.Max.X; x++ {
				codes[dst.RGBAAt(x, c.Rect.Min.Y).G] = true
			}
			if native := len(codes) > 20; native != p.right(s, i) {
				t.Errorf("%s of %+v has %d codes", c.Label, s, len(codes))
			}
		}
	}
}

// One who cannot tell has made a guess among four; between two ramps that says nothing.
func TestSmoothnessCantTell(t *testing.T) {
	p := beginSmoothness(Plan{})
	if err := p.record(Judgement{Kind: Trial, Stimulus: Stimulus{Ground: smoothGround, A: 32, B: 96, Bits: 6}, Response: CantTell}); err != nil {
		t.Fatal(err)
	}
	for i, m := range p.mass {
		if math.Abs(m-p.prior[i]) > 1e-15 {
			t.Fatalf("hypothesis %d: %g, before it %g", i, m, p.prior[i])
		}
	}
	before := p.result(screen.RangePrior, rand.New(rand.NewPCG(1, 1))).Bits.Within(8, 8)
	if err := p.record(Judgement{Kind: Trial, Stimulus: Stimulus{Ground: smoothGround, Left: 40, Patch: 41, Cell: 2}, Response: CantTell}); err != nil {
		t.Fatal(err)
	}
	if after := p.result(screen.RangePrior, rand.New(rand.NewPCG(1, 1))).Bits.Within(8, 8); !(after < before) {
		t.Errorf("8 bits have %g after a step that was not seen, %g before", after, before)
	}
}

// Judgements that this check cannot have made are refused, and nothing is learnt from them.
func TestSmoothnessRefuses(t *testing.T) {
	good := Stimulus{Ground: smoothGround, Left: 40, Patch: 41, Cell: 2}
	rampGood := Stimulus{Ground: smoothGround, A: 32, B: 96, Bits: 6, PlainLeft: true}
	change := func(s Stimulus, f func(*Stimulus)) Stimulus { f(&s); return s }
	for _, j := range []Judgement{
		{Kind: Trial, Stimulus: good, Response: 4},
		{Kind: Trial, Stimulus: good, Response: -2},
		{Kind: Setting, Stimulus: good},
		{Kind: Catch, Stimulus: good},
		{Kind: Trial},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Ground++ })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Patch++ })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Cell = 4 })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Cell = -1 })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Left, s.Patch = 23, 24 })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Left, s.Patch = 114, 115 })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Left, s.Patch = 255, 0 })},
		{Kind: Trial, Stimulus: change(good, func(s *Stimulus) { s.Of = 2 })},
		{Kind: Trial, Stimulus: rampGood, Response: 2},
		{Kind: Trial, Stimulus: change(rampGood, func(s *Stimulus) { s.Bits = 8 })},
		{Kind: Trial, Stimulus: change(rampGood, func(s *Stimulus) { s.Bits = -1 })},
		{Kind: Trial, Stimulus: change(rampGood, func(s *Stimulus) { s.A = 33 })},
		{Kind: Trial, Stimulus: change(rampGood, func(s *Stimulus) { s.Cell = 1 })},
	} {
		p := beginSmoothness(Plan{})
		if err := p.record(j); err != errForeign {
			t.Errorf("%+v: %v", j, err)
		}
		if !reflect.DeepEqual(p, beginSmoothness(Plan{})) {
			t.Errorf("%+v: refused, yet learnt from", j)
		}
	}
	p := beginSmoothness(Plan{})
	for _, s := range []Stimulus{good, rampGood} {
		for response := CantTell; response < 2; response++ {
			if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: response}); err != nil {
				t.Errorf("%+v, %d: %v", s, response, err)
			}
		}
	}
}

// FuzzSmoothnessRecord hands over judgements of any kind. Whatever is taken leaves probabilities behind, and what is refused leaves nothing.
func FuzzSmoothnessRecord(f *testing.F) {
	f.Add(uint8(60), uint8(40), uint8(41), 2, 0, uint8(0), uint8(0), false, 2, 0)
	f.Add(uint8(60), uint8(0), uint8(0), 0, 6, uint8(32), uint8(96), true, 1, 0)
	f.Add(uint8(60), uint8(255), uint8(0), 0, 0, uint8(0), uint8(0), false, -1, 3)
	f.Fuzz(func(t *testing.T, ground, left, patch uint8, cell, bits int, a, b uint8, top bool, response, of int) {
		p := beginSmoothness(Plan{})
		s := Stimulus{Ground: ground, Left: left, Patch: patch, Cell: cell, Bits: bits, A: a, B: b, PlainLeft: top, Of: of}
		err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: response})
		if err != nil {
			if !reflect.DeepEqual(p, beginSmoothness(Plan{})) {
				t.Fatalf("%+v was refused, yet learnt from", s)
			}
			return
		}
		sum := 0.0
		for _, m := range p.mass {
			if !(m >= 0) {
				t.Fatalf("%+v leaves a mass of %g", s, m)
			}
			sum += m
		}
		if math.Abs(sum-1) > 1e-9 || ground != smoothGround || of != 0 || (bits == 0) != (patch == left+1 && left >= stepFrom) {
			t.Fatalf("%+v leaves a mass of %g", s, sum)
		}
	})
}

// Before any judgement neither tolerance is met nor missed.
func TestSmoothnessUnseen(t *testing.T) {
	u := UnseenSmoothness(rand.New(rand.NewPCG(1, 1)))
	for _, least := range []float64{7, 8} {
		if p := u.Bits.Within(least, 8); p < 0.4 || p > 0.85 {
			t.Errorf("%g bits or more have %.3f before any judgement", least, p)
		}
	}
	if math.Abs(u.Blind-smoothBlindPrior) > 1e-12 || u.Threshold.Quantile(0.5) < 1.4 || u.Threshold.Quantile(0.5) > 2 {
		t.Errorf("blind %g, median threshold %g", u.Blind, u.Threshold.Quantile(0.5))
	}
	for _, l := range beginSmoothness(Plan{}).ranges() {
		if math.Abs(l) > 1e-9 {
			t.Errorf("the ranges have evidence %g before any judgement", l)
		}
	}
}

// Draws are as the posterior is, and the marginal follows the ranges that it is given.
func TestSmoothnessResult(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	p := smoothRun(t, beginSmoothness(Plan{Length: Standard}), smoothViewer{7, screen.Lifted, 2.2, 1.7, 0.03}, 8, r)
	for _, given := range [][screen.Ranges]float64{{}, {1, 0, 0}, {0, 0, 1}, {0, 3, 1}, screen.RangePrior} {
		a, b := p.result(given, rand.New(rand.NewPCG(1, 2))), p.result(given, rand.New(rand.NewPCG(1, 2)))
		if !reflect.DeepEqual(a, b) {
			t.Fatal("the same state gives two results")
		}
		shares := given
		if given == ([screen.Ranges]float64{}) {
			shares = p.byRange()
		}
		if slices.IsSorted(a.Draws) {
			t.Errorf("%v: the draws are in order", given)
		}
		total := shares[0] + shares[1] + shares[2]
		sum := 0.0
		for bits := 5.0; bits <= 8; bits++ {
			want, drawn := 0.0, 0.0
			for rg, w := range shares {
				want += w / total * a.By[rg].Within(bits, bits)
			}
			for i, d := range a.Draws {
				if float64(d) == bits {
					drawn += a.Weights[i]
				}
			}
			sum += drawn
			if got := a.Bits.Within(bits, bits); math.Abs(got-want) > 1e-9 || math.Abs(drawn-want) > 0.01 {
				t.Errorf("%v: %g bits have %.4f, drawn %.4f, want %.4f", given, bits, got, drawn, want)
			}
		}
		for rg, w := range shares {
			drawn := 0.0
			for i, of := range a.Ranges {
				if of == screen.Range(rg) {
					drawn += a.Weights[i]
				}
			}
			if math.Abs(drawn-w/total) > 0.01 {
				t.Errorf("%v: %v is drawn %.4f of the time", given, screen.Range(rg), drawn)
			}
		}
		if math.Abs(sum-1) > 1e-9 || len(a.Draws) != smoothDraws || len(a.Ranges) != smoothDraws || len(a.Weights) != smoothDraws {
			t.Errorf("%v: %d draws with weights of %g", given, len(a.Draws), sum)
		}
		if m := a.Missing.Mean(); m < 0 || m > 255 {
			t.Errorf("%v: %g steps are missing", given, m)
		}
	}
	if m := p.result([screen.Ranges]float64{1, 0, 0}, r).Missing; m.Within(0, 0)+m.Within(128, 128)+m.Within(192, 192)+m.Within(224, 224) < 1-1e-9 {
		t.Errorf("missing steps of a full range: %+v", m)
	}
}

// The best choice of few stimuli between four hypotheses, by trying out every one.
func TestLeastErrors(t *testing.T) {
	stimuli := [][depthCases]float64{{0.95, 0.3, 0.6, 0.25}, {0.25, 0.7, 0.5, 0.95}, {0.25, 0.25, 0.9, 0.9}, {0.4, 0.97, 0.25, 0.5}}
	for _, names := range [][depthCases]int{{0, 1, 2, 3}, {7, 8, 7, 8}, {5, 5, 5, 6}} {
		var best func(w [depthCases]float64, n int) float64
		best = func(w [depthCases]float64, n int) float64 {
			if n == 0 {
				by := map[int]float64{}
				sum, most := 0.0, 0.0
				for i, v := range w {
					sum += v
					by[names[i]] += v
					most = max(most, by[names[i]])
				}
				return sum - most
			}
			least := math.Inf(1)
			for _, p := range stimuli {
				one, none := w, w
				for i, v := range p {
					one[i], none[i] = w[i]*v, w[i]*(1-v)
				}
				least = min(least, best(one, n-1)+best(none, n-1))
			}
			return least
		}
		for n, got := range leastErrors(stimuli, names, 5) {
			if want := best([depthCases]float64{0.25, 0.25, 0.25, 0.25}, n); got > want*(1+1e-9) || got < want*0.97 {
				t.Errorf("%v, %d judgements: %.6f, want %.6f or little less", names, n, got, want)
			}
		}
	}
	for n, got := range leastErrors([][depthCases]float64{{0.3, 0.3, 0.3, 0.3}}, [depthCases]int{0, 1, 2, 3}, 3) {
		if math.Abs(got-0.75) > 1e-9 {
			t.Errorf("nothing to tell by, %d judgements: %g", n, got)
		}
	}
}

// The bound falls with judgements and rises with the threshold. The check keeps above it, and not far behind one who
// knows the viewer's threshold, the curve and the range beforehand and chooses in the same way.
func TestSmoothnessBound(t *testing.T) {
	const n = 10
	threshold := smoothThresholds[9]
	bounds := smoothnessBounds(threshold, n)
	last := 1.0
	for n, b := range bounds {
		if !(b < last) || n == 0 && b != 0.75 {
			t.Errorf("%d judgements: %g, before it %g", n, b, last)
		}
		last = b
	}
	if a, b := SmoothnessBound(1, 2), SmoothnessBound(3, 2); a >= b {
		t.Errorf("%g for a threshold of 1, %g for 3", a, b)
	}
	// One judgement, by hand: either answer is taken for the depth that makes it likeliest.
	for _, threshold := range []float64{0.7, 3} {
		worst := 1.0
		for c := stepFrom; c <= stepTo; c++ {
			right, wrong := 0.0, 0.0
			for bits := 5; bits <= 8; bits++ {
				light := depthLight(screen.Full, bits, 2.2)
				p := psychophysics.Weibull(jnds(light[c], light[c+1])/threshold, 2.5, 0.03, 4)
				right, wrong = max(right, p), max(wrong, 1-p)
			}
			worst = min(worst, 1-(right+wrong)/4)
		}
		if got := SmoothnessBound(threshold, 1); got > worst*(1+1e-9) || got < worst*0.98 {
			t.Errorf("threshold %g, one judgement: %.6f, want %.6f or little less", threshold, got, worst)
		}
	}
	// needs is how many judgements a bound comes down to an error after.
	needs := func(bounds []float64, e float64) float64 {
		for i := 1; i < len(bounds); i++ {
			if bounds[i] <= e {
				return float64(i) - math.Log(e/bounds[i])/math.Log(bounds[i-1]/bounds[i])
			}
		}
		return n
	}
	runs := 400 // in a short test too: fewer tell nothing
	other := smoothThresholds[14]
	known := 0.0 // wrong by one who knows viewer, curve and range
	for i, c := range []struct {
		knows string
		all   [depthCases]depthCase
	}{
		{"who knows viewer, curve and range", [depthCases]depthCase{{5, threshold}, {6, threshold}, {7, threshold}, {8, threshold}}},
		{fmt.Sprintf("who knows that it is 7 or 8 bits and the threshold %.2f or %.2f", threshold, other), [depthCases]depthCase{{7, threshold}, {8, threshold}, {7, other}, {8, other}}},
	} {
		bounds, wrong := boundsAmong(c.all, n), 0.0
		for at, h := range c.all {
			for seed := range runs {
				r := rand.New(rand.NewPCG(uint64(seed), uint64(at)))
				p := beginSmoothness(Plan{})
				for i := range p.mass {
					p.mass[i] = 0
					if d, rg, th := smoothAt(i); rg == screen.Full && i/len(smoothThresholds)%len(smoothGammas) == 1 && slices.Contains(c.all[:], depthCase{leastDepth + d, th}) {
						p.mass[i] = 1.0 / depthCases
					}
				}
				e := smoothRun(t, p, smoothViewer{h.bits, screen.Full, 2.2, h.threshold, lapse}, n, r).result([screen.Ranges]float64{1, 0, 0}, r).Bits
				best := float64(likeliest(e))
				wrong += 1 - e.Within(best, best) // what one believes who knows comes true as often
			}
		}
		wrong /= float64(depthCases * runs)
		if i == 0 {
			known = wrong
		}
		ratio := n / needs(bounds, wrong)
		t.Logf("%d judgements by one %s: %.2f %% wrong, bound %.2f %%, to which it comes after %.1f judgements: ratio %.2f", n, c.knows, 100*wrong, 100*bounds[n], needs(bounds, wrong), ratio)
		if wrong < bounds[n] || ratio > 1.2 {
			t.Errorf("one %s errs by %.4f, the bound is %.4f; ratio %.2f", c.knows, wrong, bounds[n], ratio)
		}
	}
	failed := 0.0
	for bits := 5; bits <= 8; bits++ {
		for seed := range runs {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(bits)))
			e := smoothRun(t, beginSmoothness(Plan{}), smoothViewer{bits, screen.Full, 2.2, threshold, lapse}, n, r).result([screen.Ranges]float64{1, 0, 0}, r).Bits
			for i := range e.Mass { // as if all depths had been equally likely
				e.Mass[i] /= depthPrior[i]
			}
			if likeliest(e) != bits {
				failed++
			}
		}
	}
	failed /= float64(depths * runs)
	t.Logf("%d judgements by one who knows nothing, threshold %.2f: %.2f %% wrong; the bound of one who knows all, %.2f %%, comes to it after %.1f: ratio %.2f", n, threshold,
		100*failed, 100*bounds[n], needs(bounds, failed), n/needs(bounds, failed))
	// 2.8 % against 1.5 % were seen over 3200; the difference has an SD of 0.45 % here.
	if failed < bounds[n]-0.001 || failed-known > 0.003+3.3*0.006 {
		t.Errorf("%.4f wrong, %.4f by one who knows the viewer, the bound is %.4f", failed, known, bounds[n])
	}
}

// BenchmarkSmoothness is one choice and what is learnt from its answer.
func BenchmarkSmoothness(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	v := smoothViewer{8, screen.Full, 2.2, 1.7, 0.03}
	light := depthLight(v.r, v.bits, v.gamma)
	p := beginSmoothness(Plan{Length: Long})
	n := 0
	for b.Loop() {
		if n == 24 {
			p, n = beginSmoothness(Plan{Length: Long}), 0
		}
		s := p.choose(Trial, n, n%2 == 0, r)
		if err := p.record(Judgement{Kind: Trial, Stimulus: s, Response: v.answer(s, light, r)}); err != nil {
			b.Fatal(err)
		}
		n++
	}
}

// BenchmarkSmoothnessTable is what the first of a program's sittings waits for.
func BenchmarkSmoothnessTable(b *testing.B) {
	for b.Loop() {
		newSmoothTable(breathless)
	}
}
