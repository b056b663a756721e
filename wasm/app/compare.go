package app

import (
	"math"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// compare shows the report on the page beside another record, the earlier first.
func (a *App) compare(other report.Record) {
	one, two := other, a.shown.record
	if one.Conditions.Ended > two.Conditions.Ended {
		one, two = two, one
	}
	a.enter(Compare, false)
	a.fill("stage", pages.ComparePage(comparison(one, two, a.host.Clock.Wall().Location())))
	a.fill("bar", none)
}

// compareWith shows the report on the page beside a record from bytes, or says why it cannot; then nothing else changes.
func (a *App) compareWith(b []byte) {
	r, err := report.Read(b)
	if err != nil {
		a.say(words.Say("It cannot be compared with: %s.", words.Found(strings.TrimPrefix(err.Error(), "report: "))))
		return
	}
	a.compare(r)
}

func (a *App) compareAction(name string) {
	switch name {
	case "back":
		a.show(a.shown)
	case "print":
		a.host.Desk.Print()
	}
}

// earlier are the finished sittings kept here that a report can be compared with.
func (a *App) earlier(r *shown) []pages.EarlierSitting {
	const most = 12
	var list []pages.EarlierSitting
	now := a.host.Clock.Wall()
	if r.letter != nil {
		for _, l := range a.mail.letters {
			if l == r.letter || l.Fault != "" || l.Record == "" || l.request != r.letter.request || len(list) == most {
				continue
			}
			x := answerView(l, now.Location())
			list = append(list, pages.EarlierSitting{ID: l.key(), When: x.Made, Screen: x.Screen})
		}
	}
	for _, x := range a.shelf.sittings {
		if x.State != finished || x.broken != "" || string(x.record) == string(r.bytes) || len(list) == most {
			continue
		}
		list = append(list, pages.EarlierSitting{ID: x.ID, When: day(time.UnixMilli(x.Touched).In(now.Location())), Screen: x.Conditions.Screen + when(x.Conditions.Mode != "", ", "+x.Conditions.Mode)})
	}
	return list
}

// comparison is two records as the page says them.
func comparison(one, two report.Record, zone *time.Location) pages.CompareView {
	c := report.Compare(one, two)
	v := pages.CompareView{Earlier: compared(one, zone), Later: compared(two, zone), Score: change(c.Score, func(x float64) string { return words.Number(x, 0) })}
	for _, d := range c.Aspects {
		x := pages.ComparedAspect{Name: titled(string(d.Aspect)), Earlier: estimated(d.Earlier), Later: estimated(d.Later)}
		if d.Known && d.Later.Quantity != "" {
			e, l := &x.Earlier.Scale, &x.Later.Scale
			e.Min, e.Max = min(e.Min, l.Min), max(e.Max, l.Max)
			l.Min, l.Max, e.BandLo, e.BandHi = e.Min, e.Max, l.BandLo, l.BandHi
			u := unitOf(*d.Later)
			x.Change = change(d.Difference, func(x float64) string { return u.figure(u.times * x) })
		} else {
			x.Change = change(d.Difference, nil)
		}
		v.Aspects = append(v.Aspects, x)
	}
	v.Conditions = differing(one, two)
	if one.Conditions.Screen != two.Conditions.Screen {
		v.Cautions = append(v.Cautions, words.Say("The screens have different names: this tells them apart and does not tell how one of them changed."))
	}
	if one.Conditions.Mode != two.Conditions.Mode && one.Conditions.Screen == two.Conditions.Screen {
		v.Cautions = append(v.Cautions, words.Say("The screen was in different modes: this tells the modes apart and does not tell how one of them changed."))
	}
	if one.Conditions.Viewer != two.Conditions.Viewer {
		v.Cautions = append(v.Cautions, words.Say("Other viewers looked. What they see near black and white differs from one to another."))
	}
	v.Cautions = append(v.Cautions, words.Say("A room that has become lighter or darker moves shadows just as a change of the screen does."))
	return v
}

func compared(r report.Record, zone *time.Location) pages.Compared {
	v := view(r, zone)
	return pages.Compared{Screen: v.Screen, Viewer: v.Viewer, When: v.Made, Void: len(r.Void) > 0, Score: v.Score}
}

func estimated(f *report.Finding) pages.ComparedEstimate {
	if f == nil {
		return pages.ComparedEstimate{Verdict: report.NotChecked.String()}
	}
	v := aspect(*f)
	return pages.ComparedEstimate{Verdict: v.Verdict, Figure: v.Figure, Scale: v.Scale}
}

// change is a difference in words; figure writes its size.
func change(d report.Difference, figure func(float64) string) pages.Change {
	if !d.Known {
		return pages.Change{Why: words.Found(d.Why)}
	}
	by := func(x float64) string {
		if figure == nil {
			return ""
		}
		s := figure(math.Abs(x))
		switch {
		case strings.Trim(s, "0.,") == "": // as good as none has no sign
			return s
		case x < 0:
			return "−" + s
		}
		return "+" + s
	}
	why := ""
	if figure != nil {
		why = words.Say("By %s (%s to %s).", by(d.By), by(d.Lo), by(d.Hi))
	}
	if d.Moved {
		return pages.Change{Kind: "moved", Why: why}
	}
	return pages.Change{Kind: "same", Why: why}
}

// differing lists the conditions that were not the same.
func differing(one, two report.Record) []pages.Differing {
	var list []pages.Differing
	add := func(name, a, b string) {
		if a != b {
			list = append(list, pages.Differing{Name: name, Earlier: a, Later: b})
		}
	}
	told := func(f func(r report.Record) string) (string, string) { return f(one), f(two) }
	for _, x := range []struct {
		name string
		of   func(r report.Record) string
	}{
		{words.Say("Mode"), func(r report.Record) string { return seen(r.Conditions.Mode) }},
		{words.Say("Length"), func(r report.Record) string { return words.Found(string(r.Plan.Length)) }},
		{words.As("Aim", "of a screen"), func(r report.Record) string {
			aim, _ := screen.AimByID(r.Plan.Aim)
			return words.Found(aim.Name)
		}},
		{words.Say("Room"), func(r report.Record) string { return rooms(r.Conditions.Room) }},
		{words.Say("Distance"), func(r report.Record) string {
			return when(r.Conditions.Distance > 0, number(r.Conditions.Distance)+" cm")
		}},
		{words.Say("Pixels"), func(r report.Record) string {
			return words.Say("%s at a scale of %s", size(r.Conditions.Width, r.Conditions.Height), number(r.Conditions.PixelRatio))
		}},
		{words.Say("Colours claimed"), func(r report.Record) string { return gamutName(r.Conditions.Gamut) }},
		{words.Say("Dynamic range"), func(r report.Record) string { return words.Found(r.Conditions.DynamicRange) }},
		{words.Say("Browser"), func(r report.Record) string { return r.Conditions.Browser }},
		{words.Say("Colour vision"), func(r report.Record) string { return visions(r.Conditions.Vision) }},
		{words.Say("Program"), func(r report.Record) string { return r.Program }},
	} {
		a, b := told(x.of)
		add(x.name, a, b)
	}
	for _, s := range settings() {
		add(s.label, setAs(one.Conditions.Settings[s.name]), setAs(two.Conditions.Settings[s.name]))
	}
	return list
}

// setAs is whether a setting was as asked.
func setAs(answer string) string {
	switch answer {
	case "yes":
		return words.Say("yes")
	case "no":
		return words.Say("no")
	case "unknown":
		return words.Say("unknown")
	}
	return answer
}
