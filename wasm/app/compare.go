package app

import (
	"fmt"
	"strings"
	"time"

	"example.org/plumb/patterns/report"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
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
		a.say("It cannot be compared with: " + strings.TrimPrefix(err.Error(), "report: ") + ".")
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
	v := pages.CompareView{Earlier: compared(one, zone), Later: compared(two, zone), Score: change(c.Score, func(x float64) string { return fmt.Sprintf("%.0f", x) })}
	for _, d := range c.Aspects {
		x := pages.ComparedAspect{Name: capital(string(d.Aspect)), Earlier: estimated(d.Earlier), Later: estimated(d.Later)}
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
		v.Cautions = append(v.Cautions, "The screens have different names: this tells them apart and does not tell how one of them changed.")
	}
	if one.Conditions.Mode != two.Conditions.Mode && one.Conditions.Screen == two.Conditions.Screen {
		v.Cautions = append(v.Cautions, "The screen was in different modes: this tells the modes apart and does not tell how one of them changed.")
	}
	if one.Conditions.Viewer != two.Conditions.Viewer {
		v.Cautions = append(v.Cautions, "Other viewers looked. What they see near black and white differs from one to another.")
	}
	v.Cautions = append(v.Cautions, "A room that has become lighter or darker moves shadows just as a change of the screen does.")
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
		return pages.Change{Why: d.Why}
	}
	by := func(x float64) string {
		if figure == nil {
			return ""
		}
		s := figure(x)
		if x > 0 {
			s = "+" + s
		}
		return strings.Replace(s, "-", "−", 1)
	}
	why := ""
	if figure != nil {
		why = fmt.Sprintf("By %s (%s to %s).", by(d.By), by(d.Lo), by(d.Hi))
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
		{"Mode", func(r report.Record) string { return seen(r.Conditions.Mode) }},
		{"Length", func(r report.Record) string { return string(r.Plan.Length) }},
		{"Aim", func(r report.Record) string {
			aim, _ := screen.AimByID(r.Plan.Aim)
			return aim.Name
		}},
		{"Room", func(r report.Record) string { return rooms[r.Conditions.Room] }},
		{"Distance", func(r report.Record) string {
			return when(r.Conditions.Distance > 0, number(r.Conditions.Distance)+" cm")
		}},
		{"Pixels", func(r report.Record) string {
			return size(r.Conditions.Width, r.Conditions.Height) + " at " + number(r.Conditions.PixelRatio)
		}},
		{"Colours claimed", func(r report.Record) string { return gamuts[r.Conditions.Gamut] }},
		{"Dynamic range", func(r report.Record) string { return r.Conditions.DynamicRange }},
		{"Browser", func(r report.Record) string { return r.Conditions.Browser }},
		{"Colour vision", func(r report.Record) string { return visions[r.Conditions.Vision] }},
		{"Program", func(r report.Record) string { return r.Program }},
	} {
		a, b := told(x.of)
		add(x.name, a, b)
	}
	for _, s := range settings {
		add(s.label, one.Conditions.Settings[s.name], two.Conditions.Settings[s.name])
	}
	return list
}
