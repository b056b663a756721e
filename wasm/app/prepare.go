package app

import (
	"image"
	"math"
	"strconv"
	"time"

	"example.org/plumb/patterns"
	"example.org/plumb/patterns/check"
	"example.org/plumb/patterns/screen"
	"example.org/plumb/web/pages"
	"example.org/plumb/web/words"
)

// prepare shows the preparation page.
func (a *App) prepare() {
	a.sitting, a.shown, a.lines = nil, nil, false
	a.host.Canvas.Mark("")
	a.enter(Prepare, false)
	a.fill("stage", pages.PreparePage(a.preparing()))
	a.fill("bar", none)
	a.fillSlide()
	a.fillNames()
	a.fillKept()
	a.refresh()
	a.tell("message", a.message)
	a.message = ""
}

// refresh shows what may have changed on the preparation page, and leaves what is being typed alone.
func (a *App) refresh() {
	a.fill("facts", besides(pages.Facts(a.facts()), a.twins()))
	a.fill("card", pages.CardOutline(a.card()))
	a.words("lean", a.form.lean())
	a.fill("start", pages.Enter(a.way()))
	a.tell("storage", a.shelf.trouble())
}

func (a *App) fillSlide() { a.fill("slide", pages.Slide(a.card())) }

func (a *App) fillKept() {
	kept := pages.KeptList(a.shelf.kept(a.host.Clock.Wall()))
	if a.stage == Prepare && a.form.reference == check.OtherScreen {
		kept = besides(a.whiteLink(), kept)
	}
	a.fill("keptlist", kept)
}

// changed follows a change of the form.
func (a *App) changed(name string) {
	switch name {
	case "card":
		a.measured()
	case "nostripes":
		a.form.melt, a.form.even = "", ""
	case "viewer", "twin":
		return
	case "reference":
		a.fillKept()
	}
	a.refresh()
}

// cardAt is the long side of the outline in CSS pixels.
func (a *App) cardAt() int {
	if a.form.card != 0 {
		return a.form.card
	}
	// CSS takes 96 pixels to the inch, which is what a browser knows.
	return int(math.Round(cardLong / 25.4 * 96))
}

// measured takes the outline as being as large as the card.
func (a *App) measured() {
	a.form.card = a.cardAt()
	a.form.pitch = float64(a.form.card) * a.surface.Ratio / cardLong
}

func (a *App) preparing() pages.Preparing {
	f := &a.form
	v := pages.Preparing{Viewer: f.viewer, Distance: f.distance, NoStripes: f.noStripes}
	for _, q := range settings() {
		v.Set = append(v.Set, pages.Question{Name: q.name, Label: q.label, Advice: q.advice, Options: options(f.settings[q.name],
			"yes", words.Say("Yes"), "no", words.Say("No"), "unknown", words.Say("Don't know"))})
	}
	v.Set = append(v.Set, pages.Question{Name: "room", Label: words.Say("Light in the room"), Advice: words.Say("No lamp or window mirrored in the screen."), Options: options(f.room,
		"dark", words.Say("Dark"), "dim", words.Say("Dim"), "normal", words.Say("As in an office"), "bright", words.Say("Bright"))})
	length := pages.Question{Name: "length", Label: words.Say("Length")}
	for _, l := range []check.Length{check.Short, check.Standard, check.Long} {
		n, d := check.About(l, a.skip())
		length.Options = append(length.Options, pages.Option{
			Value: string(l), Label: titled(string(l)), Text: words.Say("%s, some %d questions", minutes(d), round10(n)), Chosen: f.length == l})
	}
	aim := pages.Question{Name: "aim", Label: words.Say("What the screen should be")}
	for _, m := range screen.Aims {
		aim.Options = append(aim.Options, pages.Option{Value: m.ID, Label: words.Found(m.Name), Text: words.Found(m.Text), Chosen: f.aim == m.ID})
	}
	v.Choose = []pages.Question{length, aim}
	if g := a.given; g != nil {
		m, _ := screen.AimByID(f.aim)
		who := words.Say("Asked by %s", g.by())
		if g.Ask.Title != "" {
			who = words.Say("%s, asked by %s", g.Ask.Title, g.by())
		}
		v.For = []string{
			words.Say("%s. Length and aim are as they asked: %s, and \"%s\".", who, words.Found(string(f.length)), words.Found(m.Name)),
			words.Say("Your report comes first. Nothing is sent until you press Send there."),
		}
		if g.Ask.Proof != nil {
			v.For[1] = words.Say("Your own report comes first, and then the pictures. Nothing is sent before you sign a decision on them.")
		}
		v.Choose = nil
	}
	if a.aimed() {
		v.For, v.Choose = a.aimedFor(), nil
	}
	v.Choose = append(v.Choose, pages.Question{Name: "vision", Label: words.Say("Your eye for colours"), Advice: words.Say("About one man in twelve sees some colours differently. Tints of grey and colours beyond sRGB are then judged by that eye; all else holds for every eye. Nothing is diagnosed."), Options: options(f.vision,
		"", words.Say("Not told"), "usual", words.Say("Usual, as far as I know"), "differs", words.Say("I see some colours differently"))},
		pages.Question{Name: "reference", Label: words.Say("Hold white against a reference"), Advice: words.Say("Eyes adapt to any white. Beside one that you trust they can tell. It takes a minute, at the end."), Options: []pages.Option{
			{Value: "", Label: words.Say("No"), Chosen: f.reference == ""},
			{Value: check.Paper, Label: words.Say("A sheet of paper under a lamp"), Text: words.Say("plain white paper under daylight lamps made for judging prints"), Chosen: f.reference == check.Paper},
			{Value: check.OtherScreen, Label: words.Say("A second screen"), Text: words.Say("one that you trust, showing white"), Chosen: f.reference == check.OtherScreen},
		}})
	return v
}

// way is the way into the sitting as it is now.
func (a *App) way() pages.Way {
	n, d := check.Plan{Length: a.form.length, Skip: a.skip(), Expect: a.expected()}.About()
	w := pages.Way{
		Skipped: a.skipped(),
		Asked:   words.Say("%s, some %d questions. It asks more where it is unsure.", capital(minutes(d)), round10(n)),
		Problem: a.tight(),
		Buttons: []pages.Button{{Action: "continue", Label: words.Say("Start the sitting"), Main: true}},
	}
	w.Buttons = append(w.Buttons, a.screenButtons()...)
	if a.aimed() {
		w.Buttons = append(w.Buttons, pages.Button{Action: "beside", Label: words.Say("Back to profile and readings")})
	}
	return w
}

// skipped is what the sitting leaves out, and why.
func (a *App) skipped() []string {
	var list []string
	skip := a.skip()
	if why := a.coarse(); why != "" {
		list = append(list, words.Say("Tone and neutrals are left out: %s.", words.Found(why)))
	}
	if why := skip[check.ColourRange]; why != "" && a.form.length != check.Short {
		list = append(list, words.Say("Colour range is left out: %s.", words.Found(why)))
	}
	return list
}

// screenButtons lead into full screen or out of it, where the browser has one.
func (a *App) screenButtons() []pages.Button {
	switch s := &a.surface; {
	case !s.CanFullScreen:
		return nil
	case s.FullScreen:
		return []pages.Button{{Action: "windowed", Label: words.Say("Leave full screen")}}
	}
	return []pages.Button{{Action: "fullscreen", Label: words.Say("Full screen")}}
}

// card is the outline as it is drawn now: upright where it would be wider than the page.
func (a *App) card() pages.Card {
	long := a.cardAt()
	short := int(math.Round(float64(long) * cardShort / cardLong))
	c := pages.Card{Width: long, Height: short, At: long, Min: cardMin, Max: cardMax}
	if w := a.surface.WindowWidth; w > 0 && float64(long) > w-40 {
		c.Width, c.Height = short, long
	}
	if p := a.form.pitch; p != 0 {
		c.Found = words.Say("%s pixels to the millimetre, %.0f to the inch.", words.Number(p, 2), float64(p*25.4))
	}
	return c
}

// options takes values and labels in turn.
func options(chosen string, list ...string) []pages.Option {
	var o []pages.Option
	for i := 0; i < len(list); i += 2 {
		o = append(o, pages.Option{Value: list[i], Label: list[i+1], Chosen: list[i] == chosen})
	}
	return o
}

// facts is what the browser tells by itself, each with its concern in words.
func (a *App) facts() []pages.Fact {
	s, b := &a.surface, &a.browser
	inexact := s.Inexact()
	return facts{
		{inexact != "", words.Say("Pixels"), words.Say("not one to one"), titled(inexact) + "."},
		{inexact == "", words.Say("Pixels"), words.Say("%s, one to one", size(s.Width, s.Height)), ""},
		{true, words.Say("Scale"), words.Say("%s device pixels to a CSS pixel", number(s.Ratio)), when(s.Ratio != math.Trunc(s.Ratio), words.Say("A scale that is no whole number may mean that the browser is zoomed. That is no harm in itself."))},
		{s.Zoom > 0 && s.Zoom != 1, words.Say("Zoom"), number(100*s.Zoom) + " %", words.Say("Set it to 100 % if you can: press Ctrl or Command with 0.")},
		{s.Gamut != "", words.Say("Colours"), gamutName(s.Gamut), ""},
		{s.DynamicRange != "", words.Say("Dynamic range"), words.Found(s.DynamicRange), when(s.DynamicRange == "high", words.Say("A screen in this mode bends tones by its own rules. Switch it off for the check if you can."))},
		{s.ColorDepth > 0, words.Say("Colour depth"), words.Say("%d bits, as the browser claims", s.ColorDepth), ""},
		{s.ForcedColors, words.Say("Forced colours"), words.As("on", "a setting"), words.Say("Your system replaces the colours of pages. The patterns are left alone, the text around them is not.")},
		{s.Contrast == "more", words.Say("Contrast"), words.Say("more is asked for"), words.Say("A system that raises contrast changes what is judged.")},
		{s.Filter != "", words.Say("Filter"), s.Filter, words.Say("Something changes the colours of this page. What is judged includes it.")},
		{b.NoReadback, words.Say("Canvas"), words.Say("cannot be read back"), words.Say("What was painted cannot be compared with what was meant. The patterns are shown all the same.")},
		{b.CanvasNoise, words.Say("Canvas"), words.Say("reads back with noise"), words.Say("This browser disturbs what pages read from a picture. What you see is not touched, as far as is known.")},
		{!b.NoReadback && !b.CanvasNoise, words.Say("Canvas"), words.Say("reads back as painted"), ""},
		{a.profile == "honoured", words.Say("Profiles"), words.Say("the profile in a picture is honoured"), ""},
		{a.profile == "ignored", words.Say("Profiles"), words.Say("the profile in a picture is ignored"), words.Say("Pictures with a profile show wrong colours in this browser, on any screen.")},
		{b.Timer > 5, words.Say("Clock"), words.Say("steps of %s ms", number(b.Timer)), words.Say("Times of answers are coarse.")},
		{b.Name != "", words.Say("Browser"), b.Name, ""},
	}.known()
}

// facts are facts that hold or do not.
type facts []struct {
	holds                bool
	name, value, concern string
}

// known are those that hold.
func (f facts) known() []pages.Fact {
	var list []pages.Fact
	for _, x := range f {
		if x.holds {
			list = append(list, pages.Fact{Name: x.name, Value: x.value, Concern: x.concern})
		}
	}
	return list
}

// gamutName is the colours that a browser claims, in words; empty for no claim that is known.
func gamutName(claim string) string {
	switch claim {
	case "srgb":
		return words.Say("about those of sRGB")
	case "p3":
		return words.Say("wider than sRGB (P3)")
	case "rec2020":
		return words.Say("wider than sRGB (Rec. 2020)")
	}
	return ""
}

func when(holds bool, text string) string {
	if holds {
		return text
	}
	return ""
}

// number is x with at most 4 digits.
func number(x float64) string { return words.Decimal(strconv.FormatFloat(x, 'g', 4, 64)) }

func size(width, height int) string { return strconv.Itoa(width) + " × " + strconv.Itoa(height) }

func (a *App) prepareAction(name string) bool {
	if a.lines {
		return a.linesAction(name)
	}
	switch name {
	case "continue":
		a.start()
	case "card-smaller", "card-larger":
		step := 1
		if name == "card-smaller" {
			step = -1
		}
		a.form.card = min(max(a.cardAt()+step, cardMin), cardMax)
		a.measured()
		a.fillSlide()
		a.refresh()
	case "fullscreen":
		a.host.Desk.FullScreen(true)
	case "windowed":
		a.host.Desk.FullScreen(false)
	case "beside":
		if Whole {
			a.showAfter()
		}
	default:
		return false
	}
	return true
}

// start leads from the preparation into the sitting, by way of the fine lines if they will be needed and were not looked at.
func (a *App) start() {
	if t := a.tight(); t != "" {
		a.trouble(Prepare, pages.Notice{
			Title:   words.Say("The window is too small"),
			Lead:    t,
			Text:    []string{words.Say("What you filled in is kept. This page goes on by itself when there is room.")},
			Buttons: []pages.Button{{Action: "back", Label: words.Say("Back")}},
		})
		return
	}
	if _, out := a.skip()[check.Tone]; !out && a.form.even == "" {
		a.lines = true
		a.enter(Prepare, true)
		a.showLines()
		a.fillOver(pages.Over{
			Title: words.Say("Lean back until the lines melt"),
			Text: []string{
				words.Say("The two small squares are lines one pixel thin, lying in one and standing in the other. %s", a.form.lean()),
				words.Say("Have they melted into two plain greys that look alike, and even all over?"),
			},
			Buttons: []pages.Button{
				{Action: "continue", Label: words.Say("Yes, melted and even"), Main: true},
				{Action: "unmelted", Label: words.Say("I still see lines")},
				{Action: "uneven", Label: words.Say("They look uneven")},
				{Action: "nostripes", Label: words.Say("Skip the line matches")},
				{Action: "back", Label: words.Say("Back")},
			},
		})
		return
	}
	a.sit(a.plan())
}

// showLines paints two squares of lines one device pixel thick, lying and standing, on the field.
func (a *App) showLines() {
	if a.frame == nil {
		return
	}
	patterns.Grey(a.field.code).Paint(a.frame, a.frame.Rect)
	// They have the upper third, above the words. Both are lines, where a match has one square of them: half its area each.
	area := a.frame.Rect
	area.Max.Y = area.Dy() / 3
	side := min(patterns.MatchSide(a.frame.Rect, a.form.degree())*7/10, area.Dy()-24) / 24 * 24
	left, right := patterns.MatchRects(area, side)
	for i, r := range []image.Rectangle{left, right} {
		r = r.Add(image.Pt((2*i-1)*side/4, 0))
		patterns.Mix{A: 0, B: 255, Lit: 1, Of: 2, Columns: i == 1}.Paint(a.frame.SubImage(r).(*image.RGBA), r)
	}
	a.host.Canvas.Show(a.frame, false)
}

func (a *App) linesAction(name string) bool {
	switch name {
	case "continue":
		a.form.melt, a.form.even = "yes", "yes"
	case "unmelted":
		a.form.melt, a.form.even = "no", ""
	case "uneven":
		a.form.melt, a.form.even = "", "no"
	case "nostripes":
		a.form.noStripes = true
	case "back":
		a.prepare()
		return true
	default:
		return false
	}
	a.lines = false
	a.sit(a.plan())
	return true
}

// round10 is n to the nearest ten: how many questions there will be is an estimate.
func round10(n int) int { return (n + 5) / 10 * 10 }

func minutes(d time.Duration) string {
	m := int(math.Round(d.Minutes()))
	if m <= 1 {
		return words.Say("about a minute")
	}
	return words.Say("about %d minutes", m)
}
