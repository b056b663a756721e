package app

import (
	"math"
	"strconv"
	"strings"
	"time"

	"example.org/plumb/colour"
	"example.org/plumb/colour/cct"
	"example.org/plumb/wasm/study"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// fixed is x to so many places as the language writes it, with a true minus.
func fixed(x float64, places int) string {
	return strings.TrimPrefix(withSign(strconv.FormatFloat(x, 'f', places, 64)), "+")
}

// plus is x with its sign.
func plus(x float64, places int) string { return withSign(strconv.FormatFloat(x, 'f', places, 64)) }

// withSign is a number, as strconv or the language writes it, with its sign: a true minus, and none at 0.
func withSign(s string) string {
	size, below := strings.CutPrefix(words.Decimal(s), "-")
	switch {
	case strings.Trim(size, "0.,") == "":
		return size
	case below:
		return "−" + size
	}
	return "+" + size
}

// percentage is a part of 1 in per cent.
func percentage(x float64) string { return fixed(100*x, 0) + " %" }

// promiseView is a profile as the page says it.
func promiseView(l *laid, zone *time.Location) pages.PromiseView {
	p := l.profile()
	if p == nil {
		return pages.PromiseView{}
	}
	v := pages.PromiseView{Name: seen(p.Name), Lead: promiseLead(p), Facts: promiseFacts(p, zone), Notes: foundAll(p.Notes)}
	if v.Name == "" {
		v.Name = l.name
	}
	if len(p.Tones) > 0 && len(p.AimLo) == 256 && len(p.AimHi) == 256 {
		v.Tone, v.ToneSaid, v.Channels = toneCharts(p), toneSaid(p), channelRows(p)
	}
	v.Tint, v.TintSaid = tintChart(p), tintSaid(p)
	v.Range = rangeView(p)
	v.Correction = correctionView(p)
	return v
}

func promiseLead(p *study.Profile) string {
	s := p.Class
	switch {
	case s == "":
		s = "a profile"
	case !strings.Contains(strings.ToLower(s), "profile"):
		s += " profile"
	}
	if name := seen(p.Name); name != "" {
		s = name + ": " + words.Found(strings.ToLower(s[:1])+s[1:]) + "."
	} else {
		s = titled(s) + "."
	}
	switch c := p.Correction; {
	case c == nil:
		return s + " " + words.Say("It carries no correction for the video card: nothing has to be loaded for it to hold.")
	case !c.Changes:
		return s + " " + words.Say("It carries a correction for the video card that changes nothing.")
	}
	return s + " " + words.Say("What it promises holds only while its correction is loaded into the video card.")
}

func promiseFacts(p *study.Profile, zone *time.Location) []pages.Fact {
	at := func(ms int64) string { return day(time.UnixMilli(ms).In(zone)) }
	id := map[string]string{"right": words.Say("fits the file"), "wrong": words.Say("does not fit the file"), "none": words.Say("not told")}[p.ID]
	cicp := words.Found(p.CICP)
	return facts{
		{p.White != nil, words.Say("White"), whiteWords(p.White), when(p.Adapted, words.Say("Told by %s.", words.Found(p.WhiteBy)))},
		{p.White == nil, words.Say("White"), words.Say("not told"), ""},
		{p.Luminance > 0, words.Say("Brightness of white"), words.Say("%s cd/m² when it was made", fixed(p.Luminance, 0)), ""},
		{p.Luminance <= 0, words.Say("Brightness of white"), words.Say("not told"), ""},
		{p.Made > 0, words.As("Made", "a day"), at(p.Made), ""},
		{p.Calibrated > 0, words.Say("Calibrated"), at(p.Calibrated), ""},
		{true, words.Say("Kind"), joined(", ", words.Found(p.Class), words.Found(p.Process)), ""},
		{true, words.Say("Version"), joined(", ", "ICC "+p.Version, words.Found(p.Space)), ""},
		{cicp != "", words.Say("Named space"), cicp, ""},
		{id != "", words.Say("Profile ID"), id, when(p.ID == "wrong", words.Say("The file was changed after it was made."))},
	}.known()
}

// joined puts what is not empty of a list together.
func joined(by string, list ...string) string { return strings.Join(told(list...), by) }

// whiteWords is a white in plain words, its figures behind them.
func whiteWords(w *study.White) string {
	if w == nil {
		return ""
	}
	xy := placeWords(w.XY)
	if w.Kelvin > 0 && w.Daylight > 0 {
		return words.Say("%s (%s, %s from it in u'v')", whiteShort(w), xy, fixed(math.Abs(w.FromDay), 4))
	}
	return whiteShort(w) + "; " + xy
}

// whiteShort is a white in few words.
func whiteShort(w *study.White) string {
	kelvin := fixed(w.Daylight, 0)
	switch {
	case w.Kelvin == 0:
		return words.Say("far from any white light")
	case w.Daylight == 0:
		return words.Say("%s K", fixed(w.Kelvin, 0))
	case w.FromDay <= -0.01:
		return words.Say("clearly pinker than daylight of %s K", kelvin)
	case w.FromDay >= 0.01:
		return words.Say("clearly greener than daylight of %s K", kelvin)
	case w.FromDay <= -0.003:
		return words.Say("a little pinker than daylight of %s K", kelvin)
	case w.FromDay >= 0.003:
		return words.Say("a little greener than daylight of %s K", kelvin)
	}
	return words.Say("daylight of %s K", kelvin)
}

// placeWords is a chromaticity in figures.
func placeWords(c colour.XY) string { return words.Say("x %s, y %s", fixed(c.X, 4), fixed(c.Y, 4)) }

// channelWay is the hue of the chip beside a channel's name, and how its line is drawn.
func channelWay(channel string) (hue string, way int) {
	switch channel {
	case "red":
		return "red", 1
	case "green":
		return "green", 2
	case "blue":
		return "blue", 3
	}
	return "", 0
}

// abreast are numbers side by side. Where a comma stands before their decimals, semicolons part them.
func abreast(list ...string) string {
	s := strings.Join(list, "; ")
	if !strings.Contains(s, ",") {
		s = strings.Join(list, ", ")
	}
	return s
}

// chartStep is at every how many codes a curve is drawn.
const chartStep = 5

// grey is the tone curve of grey, or of the only channel there is; nil where there is none.
func grey(p *study.Profile) *study.Tone {
	if p == nil {
		return nil
	}
	for i := range p.Tones {
		if t := &p.Tones[i]; t.Channel == "grey" && len(t.L) == 256 {
			return t
		}
	}
	return nil
}

func toneCharts(p *study.Profile) []pages.Chart {
	var x, lo, hi, dlo, dhi []float64
	most := 0.0
	for c := 0; c < 256; c += chartStep {
		mid := (p.AimLo[c] + p.AimHi[c]) / 2
		x = append(x, float64(c)/2.55)
		lo, hi = append(lo, p.AimLo[c]), append(hi, p.AimHi[c])
		dlo, dhi = append(dlo, p.AimLo[c]-mid), append(dhi, p.AimHi[c]-mid)
		most = max(most, p.AimHi[c]-mid)
	}
	curves := pages.Chart{ID: "promise-curves", Title: words.Say("Lightness over signal"), Said: toneSaid(p), Across: words.Say("Signal, %"), Up: words.Say("Lightness, L*"), Right: 100, Top: 100,
		X: []float64{0, 25, 50, 75, 100}, Y: []float64{0, 20, 40, 60, 80, 100}, Band: pages.ChartBand{Name: words.Say("Aim"), X: x, Lo: lo, Hi: hi}}
	away := pages.Chart{ID: "promise-away", Title: words.Say("Distance from the aim over signal"), Said: toneSaid(p), Across: words.Say("Signal, %"), Up: words.Say("Lighter (+) or darker (−), L*"), Right: 100,
		X: []float64{0, 25, 50, 75, 100}, Band: pages.ChartBand{Name: words.Say("Aim"), X: x, Lo: dlo, Hi: dhi}}
	for _, t := range p.Tones {
		if len(t.L) != 256 {
			continue
		}
		hue, way := channelWay(t.Channel)
		a, b := pages.ChartLine{Name: titled(t.Channel), Way: way, Hue: hue, X: x}, pages.ChartLine{Name: titled(t.Channel), Way: way, Hue: hue, X: x}
		for c := 0; c < 256; c += chartStep {
			d := t.L[c] - (p.AimLo[c]+p.AimHi[c])/2
			a.Y, b.Y = append(a.Y, t.L[c]), append(b.Y, d)
			most = max(most, math.Abs(d))
		}
		curves.Lines, away.Lines = append(curves.Lines, a), append(away.Lines, b)
	}
	away.Top = reachOf(most, 2, 5, 10, 20, 50, 100)
	away.Foot = -away.Top
	away.Y = []float64{-away.Top, -away.Top / 2, 0, away.Top / 2, away.Top}
	return []pages.Chart{curves, away}
}

// reachOf is the least of some lengths that holds v, or the last of them.
func reachOf(v float64, list ...float64) float64 {
	for _, r := range list {
		if v <= r {
			return r
		}
	}
	return list[len(list)-1]
}

// toneOff is where a tone curve leaves the aim most, in words.
func toneOff(t *study.Tone) string {
	if math.Abs(t.Off) < 0.05 {
		return words.Say("nowhere off the aim")
	}
	return words.Say("%s L* %s at code %d", fixed(math.Abs(t.Off), 1), lighterOr(t.Off), t.OffAt)
}

func lighterOr(d float64) string {
	if d < 0 {
		return words.Say("darker")
	}
	return words.Say("lighter")
}

func toneSaid(p *study.Profile) string {
	g := grey(p)
	if g == nil {
		return words.Say("The channels' curves; greys together have none in this profile.")
	}
	s := ""
	switch gamma, off := fixed(g.Gamma, 2), fixed(math.Abs(g.Off), 1); {
	case math.Abs(g.Off) < 0.5:
		s = words.Say("Greys follow a gamma of about %s and keep to the aim.", gamma)
	default:
		s = words.Say("Greys follow a gamma of about %s, and are at most %s L* %s at code %d than the aim allows.", gamma, off, lighterOr(g.Off), g.OffAt)
	}
	least, equal := smallestStep(p)
	switch {
	case equal > fewEqual:
		s += " " + words.Say("%d codes fall together with the one below them: gradients will lose steps there.", equal)
	case equal == 0 && least != nil && least.StepLeast < 0.5:
		s += " " + words.Say("The smallest step, of %s above code %d, has %s of its proper size: it may be lost.", words.Found(least.Channel), least.StepAt, percentage(least.StepLeast))
	}
	return s
}

// fewEqual is how many codes may fall together before a word is lost on it: the darkest are less than a step of 16 bits apart in any steep curve.
const fewEqual = 3

// smallestStep is the channel with the smallest step, and how many codes of the worst channel fall together.
func smallestStep(p *study.Profile) (at *study.Tone, equal int) {
	for i := range p.Tones {
		t := &p.Tones[i]
		if at == nil || t.StepLeast < at.StepLeast {
			at = t
		}
		equal = max(equal, t.Equal)
	}
	return at, equal
}

func channelRows(p *study.Profile) pages.Table {
	t := pages.Table{Label: words.Say("Tone curves in figures"), Head: pages.Cells(words.Say("Channel"), words.Say("Nearest gamma"), words.Say("Farthest from the aim"), words.Say("Smallest step"), words.Say("Codes that fall together"), words.Say("Written as"))}
	for _, c := range p.Tones {
		t.Rows = append(t.Rows, pages.Cells(titled(c.Channel), fixed(c.Gamma, 2), toneOff(&c), leastStep(&c), fallen(c.Equal), words.Found(c.Form)))
	}
	return t
}

// leastStep is the smallest step of a curve in words.
func leastStep(t *study.Tone) string {
	if t.StepLeast <= 0 {
		return words.Say("none above code %d", t.StepAt)
	}
	return words.Say("%s of its size, above code %d", percentage(t.StepLeast), t.StepAt)
}

// fallen is how many codes fall together.
func fallen(n int) string {
	if n == 0 {
		return words.As("none", "codes that fall together")
	}
	return strconv.Itoa(n)
}

func tintChart(p *study.Profile) pages.Chart {
	if len(p.Tint) < 2 || p.TintMost < 0.0005 {
		return pages.Chart{}
	}
	u, v := pages.ChartLine{Name: words.Say("u': redder (+) or greener (−)")}, pages.ChartLine{Name: words.Say("v': yellower (+) or bluer (−)"), Way: 1}
	most := 0.0
	for _, g := range p.Tint {
		x := float64(g.Code) / 2.55
		u.X, u.Y = append(u.X, x), append(u.Y, g.DU)
		v.X, v.Y = append(v.X, x), append(v.Y, g.DV)
		most = max(most, math.Abs(g.DU), math.Abs(g.DV))
	}
	r := reachOf(most, 0.004, 0.008, 0.012, 0.02, 0.04, 0.08, 0.2, 0.6)
	return pages.Chart{ID: "promise-greys", Title: words.Say("Tint of greys against the profile's own white, over signal"), Said: tintSaid(p), Across: words.Say("Signal, %"), Up: words.Say("From white, u'v'"), Right: 100, Foot: -r, Top: r,
		X: []float64{0, 25, 50, 75, 100}, Y: []float64{-r, -r / 2, 0, r / 2, r}, Lines: []pages.ChartLine{u, v}}
}

// tintSmall is the distance in u'v' below which hardly anybody sees a tint; the same as where findings begin to name one.
const tintSmall = 0.002

func tintSaid(p *study.Profile) string {
	if len(p.Tint) == 0 {
		return ""
	}
	if p.TintMost < 0.0005 {
		return words.Say("Greys have the colour of white from black to white: in curves that are the same for every channel there is no tint.")
	}
	if p.TintMost < tintSmall {
		return words.Say("No grey is tinted against white by more than %s in u'v', which hardly anybody sees.", fixed(p.TintMost, 4))
	}
	way := ""
	for _, g := range p.Tint {
		if g.Code-p.TintAt <= 2 && p.TintAt-g.Code <= 2 {
			way = tintWay(g.DU, g.DV)
		}
	}
	return words.Say("The most tinted grey is code %d: %s than white by %s in u'v'.", p.TintAt, way, fixed(p.TintMost, 4))
}

// tintWay is a direction in u'v' in words.
func tintWay(du, dv float64) string {
	all := math.Hypot(du, dv)
	var list []string
	switch {
	case du > 0.4*all:
		list = append(list, words.Say("redder"))
	case du < -0.4*all:
		list = append(list, words.Say("greener"))
	}
	switch {
	case dv > 0.4*all:
		list = append(list, words.Say("yellower"))
	case dv < -0.4*all:
		list = append(list, words.Say("bluer"))
	}
	if len(list) == 0 {
		return words.Say("no other")
	}
	return listed(list)
}

func rangeView(p *study.Profile) pages.RangeView {
	if len(p.Primaries) != 3 {
		return pages.RangeView{}
	}
	var v pages.RangeView
	var covers []string
	v.Reach = pages.Table{Label: words.Say("Standard spaces in figures"), Head: pages.Cells(words.As("Space", "of colours"), words.Say("Of it covered, by area"), words.Say("By volume"), words.Say("In common, by area"), words.Say("By volume"))}
	v.Corners = pages.Table{Label: words.Say("Primaries and white in figures"), Head: pages.Cells(words.As("Place", "in a chart of colours"), words.Say("x, y of CIE 1931"), words.Say("u', v' of CIE 1976"))}
	for _, r := range p.Reach {
		row := pages.Cells(r.Name, percentage(r.AreaCoverage), "–", percentage(r.AreaOverlap), "–")
		row[1].Part = r.AreaCoverage
		if r.HasVolume {
			row[2].Text, row[4].Text = percentage(r.VolumeCoverage), percentage(r.VolumeOverlap)
		}
		v.Reach.Rows = append(v.Reach.Rows, row)
		if len(covers) < 2 {
			covers = append(covers, words.As("%s of %s", "a share of a space of colours", percentage(r.AreaCoverage), r.Name))
		}
	}
	if len(covers) > 0 {
		v.Said = words.Say("It covers %s by area.", listed(covers))
	}
	if p.Adapted {
		v.Caution = words.Say("The profile does not tell the device's own white, so primaries and spaces are drawn against D50.")
	}
	point := func(c colour.XY) [2]float64 { return [2]float64{c.X, c.Y} }
	d := pages.Diagram{ID: "promise-xy", Title: words.Say("x, y of CIE 1931"), Said: v.Said}
	for _, w := range cct.Spectral() {
		d.Locus = append(d.Locus, pages.Wave{Nanometres: w.Nanometres, X: w.XY.X, Y: w.XY.Y})
	}
	for k := 4000.0; k <= 25000; k *= 1.15 {
		if c, err := cct.Daylight(k); err == nil {
			d.Daylight = append(d.Daylight, point(c))
		}
	}
	for _, c := range p.Primaries {
		d.Own = append(d.Own, pages.Corner{Name: titled(c.Channel), X: c.XY.X, Y: c.XY.Y})
		v.Corners.Rows = append(v.Corners.Rows, corner(titled(c.Channel), c.XY, c.UV))
	}
	if p.White != nil {
		d.White = point(p.White.XY)
		v.Corners.Rows = append(v.Corners.Rows, corner(words.Say("White"), p.White.XY, p.White.UV))
	}
	for i, r := range p.Reach {
		o := pages.Outline{Name: r.Name, Way: i}
		for _, c := range r.Corners {
			o.Corners = append(o.Corners, point(c.XY))
		}
		d.Standards = append(d.Standards, o)
	}
	u := d
	u.ID, u.Title, u.UV = "promise-uv", words.Say("u', v' of CIE 1976, in which equal distances look about equal"), true
	v.Diagrams = []pages.Diagram{u, d}
	return v
}

func corner(name string, c colour.XY, u colour.UV) []pages.Cell {
	return pages.Cells(name, abreast(fixed(c.X, 4), fixed(c.Y, 4)), abreast(fixed(u.U, 4), fixed(u.V, 4)))
}

// poorest is the channel from which a correction takes most, and how many levels it takes.
func poorest(c *study.Correction) (channel string, lost int) {
	for i, k := range c.Costs {
		if i == 0 || k.Lost > lost {
			channel, lost = channels[i], k.Lost
		}
	}
	return channel, lost
}

var channels = [3]string{"red", "green", "blue"}

func correctionView(p *study.Profile) pages.CorrectionView {
	c := p.Correction
	if c == nil {
		return pages.CorrectionView{}
	}
	if !c.Changes {
		return pages.CorrectionView{Said: titled(c.Form) + ". " + words.Say("It sends every code as it is, so it makes no difference whether it is loaded.")}
	}
	most, at := 0, study.Cost{}
	for i, k := range c.Costs {
		if math.Abs(k.Greatest) > math.Abs(at.Greatest) {
			most, at = i, k
		}
	}
	channel, lost := poorest(c)
	v := pages.CorrectionView{Said: titled(c.Form) + ". " + words.Say("It moves %s most, by %s codes at code %d. Where the card sends 8 bits, %s keeps %d of 256 levels.", words.Found(channels[most]), plus(at.Greatest, 1), at.At, words.Found(channel), 256-lost)}
	v.Costs = pages.Table{Label: words.Say("What the correction takes"), Head: pages.Cells(words.Say("Channel"), words.Say("Levels kept of 256"), words.Say("White sent as"), words.Say("Greatest change"))}
	chart := pages.Chart{ID: "promise-moves", Title: words.Say("What the correction changes, in codes, over code"), Said: v.Said, Across: words.Say("Code"), Up: words.Say("Sent higher (+) or lower (−), codes"), Right: 255, X: []float64{0, 64, 128, 192, 255}}
	reach := 0.0
	for i, curve := range c.Curves {
		if len(curve) != 256 {
			return v
		}
		hue, way := channelWay(channels[i])
		l := pages.ChartLine{Name: titled(channels[i]), Way: way, Hue: hue}
		for k := 0; k < 256; k += chartStep {
			d := 255*curve[k] - float64(k)
			l.X, l.Y = append(l.X, float64(k)), append(l.Y, d)
			reach = max(reach, math.Abs(d))
		}
		chart.Lines = append(chart.Lines, l)
		k := c.Costs[i]
		v.Costs.Rows = append(v.Costs.Rows, pages.Cells(titled(channels[i]), strconv.Itoa(256-k.Lost), percentage(k.White), words.Say("%s at code %d", plus(k.Greatest, 1), k.At)))
	}
	chart.Top = reachOf(reach, 4, 8, 12, 16, 20, 24, 32, 48, 64, 128, 256)
	chart.Foot = -chart.Top
	chart.Y = []float64{-chart.Top, -chart.Top / 2, 0, chart.Top / 2, chart.Top}
	v.Chart = chart
	return v
}
