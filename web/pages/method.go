package pages

import (
	"strings"

	"example.org/plumb/web/words"
)

// A Method is how a screen is judged, in words. Pages know nothing of checks, screens or tolerances, so these words are written by hand beside the code
// that judges; tests outside this package hold their figures to it.
type Method struct {
	Uses      []MethodUse
	Checks    []MethodCheck
	Extras    []Line // what else is asked; Value says when
	Estimates []Line // how answers become estimates and verdicts; Value is the formula or figure, and may be empty
	Faults    []MethodFault
}

// A MethodUse is a kind of decision and what a screen needs to carry it.
type MethodUse struct {
	Name  string
	Needs []MethodNeed
}

// A MethodNeed is what a kind of decision allows of one aspect. Aspect and Quantity are as in the tolerances of the report; Source says where the
// figure comes from, or that it is ours.
type MethodNeed struct{ Aspect, Quantity, Allowed, Source string }

// A MethodCheck is one aspect: what is shown and asked, and what follows from the answers.
type MethodCheck struct {
	Aspect     string
	Shown      string
	Asked      string
	Estimates  string
	Formula    string
	Judgements [3]string // at least how many, in a short, a standard and a long sitting
	Precision  string
	Fooled     string
	Caution    string
	Source     string
}

// A MethodFault is a fault that is named when it is found, in the words of the report.
type MethodFault struct{ Name, Means, Cause, Remedy string }

// An Allowance is what the kinds of decision allow of one aspect, and why, in words.
type Allowance struct{ Aspect, Layout, Light, Colour, Why string }

// Allowances are the tolerances, aspect by aspect. The reason is that of the strictest kind of decision that has one of its own, so the later ones overrule
// the earlier. They are worked out where they are asked for: the browser program, which never shows them, does without the whole method.
func (m Method) Allowances() []Allowance {
	var out []Allowance
	unneeded := words.Say("not needed")
	for _, c := range m.Checks {
		a := Allowance{Aspect: c.Aspect, Layout: unneeded, Light: unneeded, Colour: unneeded}
		for i, u := range m.Uses {
			for _, n := range u.Needs {
				if upper(n.Aspect) != c.Aspect {
					continue
				}
				*[]*string{&a.Layout, &a.Light, &a.Colour}[i] = n.Allowed
				if n.Source != same {
					a.Why = upper(n.Source)
				}
			}
		}
		out = append(out, a)
	}
	return out
}

const same = "as for light and shade"

// anchor is the id under which an aspect stands on the page.
func anchor(aspect string) string { return strings.ReplaceAll(strings.ToLower(aspect), " ", "-") }

// called is the name of an aspect in the language spoken.
func called(aspect string) string { return upper(words.Found(strings.ToLower(aspect))) }

// How is how a screen is judged, in the language spoken but for the names of aspects, kinds of decision and quantities, which stand for them.
func How() Method {
	return Method{
		Uses: []MethodUse{
			{"Layout and wording", []MethodNeed{
				{"shadows", "first visible code", words.Say("first visible code at most 24"), words.Say("ours: dark text and edges on black still show")},
				{"highlights", "first visible step", words.Say("white begins no lower than code 239"), words.Say("ours: pale text and edges on white still show")},
				{"tone", "tone margin", words.Say("gamma within 0.45 of the aim, and no grey further than 9 delta E 2000 from it"), words.Say("ours: three times what light and shade allows")},
			}},
			{"Light and shade", []MethodNeed{
				{"shadows", "first visible code", words.Say("first visible code at most 9"), words.Say("ours: a sound screen with gamma 2.2 shows code 5 to 7 to an ideal eye in a lit room, computed with the function of DICOM PS3.14; a typical eye sees a code or two later. Up to 24, dark words and edges on black still show.")},
				{"highlights", "first visible step", words.Say("white begins no lower than code 250"), words.Say("ours: one code below white is about 1.2 just visible steps; a typical eye sees the second or third. From 250 down, texture in paper and cloud is lost that others will see.")},
				{"tone", "tone margin", words.Say("gamma within 0.15 of the aim, and no grey further than 3 delta E 2000 from it"), words.Say("ours: below 0.15 a judgement by eye can claim nothing, by our simulation; 3 delta E 2000 is about what that error does to the middle tones.")},
				{"smoothness", "effective bits", words.Say("at least 7 effective bits"), words.Say("ours: at 6 bits one step is four codes, which any viewer sees in a sky.")},
				{"evenness", "unevenness", words.Say("no place more than 30 % lighter or darker than the middle, at code 128"), words.Say("AAPM TG18 (2005): 30 % over the screen, the bound of clearly visible (from memory).")},
			}},
			{"Colour", []MethodNeed{
				{"handling", "handling", words.Say("one painted pixel to one of the screen, profiles in pictures honoured, no noise on what pages paint, no forced colours"), words.Say("ours: otherwise what was judged is not what was sent, and a program that ignores profiles shows wrong colours on any screen.")},
				{"shadows", "first visible code", words.Say("first visible code at most 9"), same},
				{"highlights", "first visible step", words.Say("white begins no lower than code 250"), same},
				{"tone", "tone margin", words.Say("gamma within 0.15 of the aim, and no grey further than 3 delta E 2000 from it"), same},
				{"neutrals", "grey tint", words.Say("tint at most 0.010 u'v' from the screen's own white, at any grey from code 64 up"), words.Say("ISO 12646:2008, 4.8, which allows 0.01 between neutrals at any place and at the middle; AAPM TG18 (2005) has the same across a display (from memory). A finer tint shows in the score. Code 64 is the darkest of the three greys of ISO 12646:2008/Amd 1:2010.")},
				{"smoothness", "effective bits", words.Say("8 effective bits"), words.Say("ours: every code of an ordinary picture is a step of its own.")},
				{"evenness", "unevenness", words.Say("no place more than 13 % lighter or darker than the middle, at code 128"), words.Say("ISO 12646:2008/Amd 1:2010, the limit at that code (read in a national summary). Its aim of 6.5 % is finer than this check.")},
				{"colour range", "reach", words.Say("only where the aim is a wide range: at least half way from sRGB to Display P3"), words.Say("ours: half of what Display P3 has beyond sRGB.")},
			}},
		},

		Checks: []MethodCheck{
			{
				Aspect:     "Handling",
				Shown:      words.Say("first nothing: the program paints pixels it knows and reads them back, and loads a small picture whose colour profile swaps its channels. Then that picture beside its plain twin, and lines one pixel thick."),
				Asked:      words.Say("Do both halves look the same? Do the lines melt into an even grey?"),
				Estimates:  words.Say("facts, each yes or no: one painted pixel is one of the screen; profiles in pictures are honoured; nothing adds noise to what a page paints; the system does not force colours of its own."),
				Formula:    words.Say("Holds when every pixel that is read back is the one painted, and off at the first that is not. No probability is involved."),
				Judgements: [3]string{words.Say("up to 2"), words.Say("up to 2"), words.Say("up to 2")},
				Precision:  words.Say("yes or no"),
				Fooled:     words.Say("zoom in the browser, scaling by the system, a screen shared over a network, an extension that disturbs what pages read."),
				Caution:    words.Say("a page can't see what happens after it. A system that shrinks the finished picture, or a cable that carries a limited range, passes here and shows only in the other aspects."),
				Source:     words.Say("profiles in pictures: ICC.1. The probes and their rule are ours."),
			},
			{
				Aspect:     "Shadows",
				Shown:      words.Say("a black screen but for one of nine cells, which is a little lighter."),
				Asked:      words.Say("Which cell holds a square?"),
				Estimates:  words.Say("the first visible code, the lowest of the 256 levels of grey that parts from black on this screen, in this room, for your eyes."),
				Formula:    words.Say("P(right) = 1/9 + (1 − 1/9)(1 − λ)(1 − exp(−(c/t)^β)), c the code shown, t the threshold, β the slope, λ = 0.03 the share of slips. Levels up to a crush k look like black; the first visible code is t, or k + 1 where that is more."),
				Judgements: [3]string{"6", "9", "14"},
				Precision:  words.Say("a factor of 1.22 at 7 judgements, 1.16 at 10, 1.12 at 14 (one standard deviation, simulated)"),
				Fooled:     words.Say("a lamp on the glass, a bright window behind the screen, eyes that come from a bright page, panels that dim their light in zones."),
				Caution:    words.Say("below the code that your eyes can just see in this light nothing can be tested, and the report says from where on."),
				Source:     words.Say("a patch that must just be seen sets black in Recommendation ITU-R BT.814. Form of the curve: Watson and Pelli, Perception and Psychophysics 33:113, 1983."),
			},
			{
				Aspect:     "Highlights",
				Shown:      words.Say("the same on white, with one cell a little darker."),
				Asked:      words.Say("Which cell holds a square?"),
				Estimates:  words.Say("the code at which light tones stop parting from white. Bright clouds, linen and paper live up there."),
				Formula:    words.Say("As for shadows, with the distance from 255 in place of the code."),
				Judgements: [3]string{"4", "6", "9"},
				Precision:  words.Say("a factor of 1.25 at 6 judgements (one standard deviation, simulated)"),
				Fooled:     words.Say("glare, tired eyes, panels that dim a bright picture as a whole."),
				Caution:    words.Say("many eyes need three or four codes to see a square on white. That alone is no fault of the screen."),
				Source:     words.Say("one code below white is 0.87 % of light, about 1.2 steps of DICOM PS3.14 (computed)."),
			},
			{
				Aspect:     "Tone",
				Shown:      words.Say("on one side lines of two greys, each line one pixel of the screen thick; on the other side one plain grey. At the start you set the plain grey yourself a few times, until both sides match."),
				Asked:      words.Say("Which side is lighter?"),
				Estimates:  words.Say("the tone curve. From far enough away the lines melt into one grey whose light is known: the share of the one plus the share of the other, whatever the screen's curve. The plain grey that looks the same tells where on the curve that light lies."),
				Formula:    words.Say("P(plain looks lighter) = λ/2 + (1 − λ) Φ((ln L(c) − ln(s L(a) + (1 − s) L(b)) + bias)/σ). L(v) = w^γ with w = u (1 − o) + o and u = v − S sin 2πv + a small remainder at seven knots: gamma γ, offset o, S-shape S. The bias (3 %) and the noise σ are unknowns too."),
				Judgements: [3]string{"9", "14", "27"},
				Precision:  words.Say("gamma to 0.085 at 12 judgements, 0.077 at 18, 0.07 at 30 (one standard deviation, simulated)"),
				Fooled:     words.Say("scaling that is no whole number, sharpening, cables that carry colour at half resolution, lines too coarse to melt from where you sit."),
				Caution:    words.Say("black level and room light act on both sides alike and cancel, so tone says nothing about contrast. When lines across and lines upright differ by more than 8 %, tone is not judged."),
				Source:     words.Say("Colombo and Derrington 2001; Xiao and others 2011; To and others 2013. Gain and offset as in Berns, Motta and Gorzynski 1993. Curves of the aims: IEC 61966-2-1 (sRGB) and Recommendation ITU-R BT.1886."),
			},
			{
				Aspect:     "Neutrals",
				Shown:      words.Say("lines of black and white, whose mixture has the colour of the screen's own white, beside a plain grey with a slight tint."),
				Asked:      words.Say("Which side is pinker, less green? Which side is yellower, less blue?"),
				Estimates:  words.Say("the tint of greys at several levels against the screen's own white, along two axes."),
				Formula:    words.Say("Pink to green is 0.1894 Δln(X/Y), yellow to blue 0.0864 Δln(Z/Y), both in u'v' of CIE 1976 near D65; the tint is the length of the two. P(left) = λ/2 + (1 − λ) Φ((tint − offset)/σ) on each axis."),
				Judgements: [3]string{"7", "12", "24"},
				Precision:  words.Say("0.0018 u'v' per axis and level at 12 judgements, 0.0016 at 20, 0.0014 at 36 (one standard deviation, simulated). In middle greys 0.0011 to 0.0015 is one delta E"),
				Fooled:     words.Say("coloured light or walls, coloured fringes at the edges of lines, a night tint, which squeezes blue."),
				Caution:    words.Say("the colour of white itself is not judged. Who sees some colours differently judges the eye as much as the screen."),
				Source:     words.Say("matching against lines, which are neutral by construction, halves the error of matching red, green and blue by themselves (simulated by us)."),
			},
			{
				Aspect:     "Smoothness",
				Shown:      words.Say("a square in four quadrants, one of which is a single code off, at codes between 24 and 113; and now and then two slow ramps, one of them coarser."),
				Asked:      words.Say("Which quadrant differs? Which ramp is smoother?"),
				Estimates:  words.Say("effective bits: how many levels of grey really differ. Missing and doubled steps follow from which neighbours look the same."),
				Formula:    words.Say("Each depth of 5, 6, 7 and 8 bits says which neighbouring codes merge. P(right) = 1/4 where they merge, and rises with the step in units of what can just be seen where they do not. Bayes' rule weighs the depths, over viewers who need one to three such units, and over a range mix-up, which moves the places where codes merge."),
				Judgements: [3]string{"6", "9", "16"},
				Precision:  words.Say("16 judgements name the depth right 95 to 99 times in 100 for typical viewers (simulated)"),
				Fooled:     words.Say("panels that flicker between two levels to make a third: they count as smooth, which is what is seen. Compressed pictures of a screen shared over a network."),
				Caution:    words.Say("an ordinary picture has 8 bits, so more than 8 can't be told."),
				Source:     words.Say("one code is 1.9 to 2.9 steps of DICOM PS3.14 from code 24 to 128, and 1.2 to 1.5 above 190 (computed), so bright codes are left out."),
			},
			{
				Aspect:     "Evenness",
				Shown:      words.Say("one bare grey over the whole screen with two small dots, one in the middle and one at a place further out, where the grey is softly changed until both match."),
				Asked:      words.Say("Which of the two marked places is lighter? In a long sitting also: which is pinker, less green? Which is yellower, less blue?"),
				Estimates:  words.Say("the light of nine places, in a long sitting twenty-five, relative to the middle; in a long sitting their tint too, for information."),
				Formula:    words.Say("P(place looks lighter) = λ/2 + (1 − λ) Φ((ln(L(place)/L(middle)) + correction)/σ), under the belief that light over a screen is a tilt, a fall towards the edges and broad blotches."),
				Judgements: [3]string{"6", "9", "24"},
				Precision:  words.Say("6 % per place at 12 judgements, 5 % at 24, 4.3 % at 40 (one standard deviation, simulated)"),
				Fooled:     words.Say("seeing the corners at an angle, which looks just like a panel that falls off. Keep your head before the middle, and move it to a place that looks wrong. Reflections."),
				Caution:    words.Say("the largest of many uncertain figures is too large on average, so the verdict goes by the probability that all places are within the limit."),
				Source:     words.Say("the places and the limit: ISO 12646:2008/Amd 1:2010 (read in a national summary). A field without grid lines, because lines hide slow changes."),
			},
			{
				Aspect:     "Colour range",
				Shown:      words.Say("four squares of the red of sRGB, or of its green. One holds a letter that lies further out, towards the red or green of Display P3."),
				Asked:      words.Say("Which square holds a letter?"),
				Estimates:  words.Say("how far the screen reaches beyond sRGB: 0 is the primary of sRGB, 1 that of Display P3."),
				Formula:    words.Say("A screen that reaches r shows everything beyond r as r. P(right) = 1/4 + (1 − 1/4)(1 − λ)(1 − exp(−(seen/t)^β)), seen being the smaller of what is shown and r."),
				Judgements: [3]string{words.Say("none"), "3", "6"},
				Precision:  words.Say("to about 0.2 of the way at 6 judgements (one standard deviation, simulated)"),
				Fooled:     words.Say("a browser or a system that cuts colours down to sRGB before the screen gets them."),
				Caution:    words.Say("a screen of many colours that nobody manages has perfect greys and wrong colours, and can't be found this way. Blue is left out: the two blues are only 1.4 delta E 2000 apart."),
				Source:     words.Say("the primaries: IEC 61966-2-1 (sRGB) and SMPTE RP 431-2 with D65 (Display P3). Their distance, 6.8 in red and 5.3 in green, is computed."),
			},
		},

		Estimates: []Line{
			{words.Say("Posterior"), words.Say("P(screen | answers) ∝ P(screen) Π P(answer | screen, viewer)"), words.Say("All screens that are possible, each weighed by how well it explains every answer so far. What is believed beforehand is wide and has heavy tails, so that odd screens are not ruled out.")},
			{words.Say("Interval"), words.Say("90 %"), words.Say("Every estimate is the middle of what the answers leave possible, and its interval holds the truth nine times in ten, provided that the model of the eye is right.")},
			{words.Say("Verdict"), words.Say("holds above 0.9, off below 0.05"), words.Say("The probability that the screen is within tolerance. Between the two the verdict is unsure. Of a screen that is looked after all aspects hold together, so the odds that they do are taken as twice what they would be if one said nothing of another.")},
			{words.Say("Noise"), words.Say("integrated out"), words.Say("How finely you judge is unknown and stays unknown: the figures are averaged over all noise levels that your answers allow. Fixing it at the likeliest level would claim too much.")},
			{words.Say("Slips"), words.Say("3 in 100"), words.Say("Everybody presses a wrong key now and then. One wrong answer can't bend a curve.")},
			{words.Say("Range mix-up"), words.Say("one hypothesis of the whole screen"), words.Say("A picture signal of limited range shown as if it were full, or the other way round, changes shadows, highlights, tone and smoothness at once, so it is weighed with all of them together.")},
			{words.Say("Next question"), words.Say("least expected uncertainty"), words.Say("After each answer the program asks what is expected to narrow down most what is still open, and it spends more questions on the aspects it is least sure of.")},
		},

		Extras: []Line{
			{words.Say("White"), words.Say("where there is a reference"), words.Say("A white field is held against a sheet of paper under a stated lamp, or against a second screen that is trusted: which is pinker, which is yellower? It may be 0.02 u'v' off (ours). It is as good as the reference and its light, and no kind of decision rests on it.")},
			{words.Say("Channels"), words.Say("in a long sitting"), words.Say("Lines and a plain side in red, in green and in blue alone: which side is lighter? Their gammas are a second look at what neutrals say. They have no tolerance of their own, and no kind of decision rests on them.")},
			{words.Say("Viewing angle"), words.Say("in a long sitting"), words.Say("Lines and a plain side at the top and at the bottom of the screen: which side is lighter? The gamma at the bottom may differ from that at the top by 0.15 (ours). No kind of decision rests on it: move your head, and what you judge, to the middle.")},
		},

		Faults: []MethodFault{
			{words.Say("full range taken for limited"), words.Say("The darkest and the lightest levels are lost on both ends, as where a screen expects limited video levels (16 to 235) and is sent full ones."),
				words.Say("The screen or its input takes a computer's full-range signal for limited, often over HDMI."), words.Say("Set the screen's input (black level, HDMI range) to full or normal, or the graphics output to what the screen expects.")},
			{words.Say("limited range shown as full"), words.Say("Black is lifted, white is dim and about one level in seven is missing, as where limited video levels (16 to 235) are shown as if they were full."),
				words.Say("The graphics output sends limited range to a screen that shows full range."), words.Say("Set the graphics output to full range.")},
			{words.Say("crushed blacks"), words.Say("Dark levels that should part from black look black."),
				words.Say("A black level or brightness set too low, a shadow setting of the screen, or more light in the room than the screen can stand up to."), words.Say("Raise the screen's black level or brightness, switch dynamic contrast off, and keep light off the screen.")},
			{words.Say("clipped lights"), words.Say("Light levels that should part from white look white."),
				words.Say("Contrast set too high, or a setting that brightens lights."), words.Say("Lower the screen's contrast, and switch picture enhancements off.")},
			{words.Say("gamma too high"), words.Say("Middle tones are darker than they should be."),
				words.Say("A gamma setting that is too high, or a correction that is applied twice."), words.Say("Set the screen's gamma to 2.2, and look whether a profile's correction is loaded twice.")},
			{words.Say("gamma too low"), words.Say("Middle tones are lighter than they should be."),
				words.Say("A gamma setting that is too low, or a correction that is not loaded."), words.Say("Set the screen's gamma to 2.2, and load the profile's correction anew.")},
			{words.Say("contrast enhancement"), words.Say("Dark tones are darker and light tones lighter than they should be, with the middle in place."),
				words.Say("A picture mode or contrast enhancement of the screen or the graphics driver."), words.Say("Choose the screen's plain or sRGB mode, and switch dynamic contrast off.")},
			{words.Say("bent tone curve"), words.Say("Tones depart from the aim in a way that is no plain error of gamma."),
				words.Say("A picture mode, or a correction that was made for another setting of the screen."), words.Say("Choose the screen's plain or sRGB mode, and calibrate anew.")},
			{words.Say("tinted greys"), words.Say("Greys have another colour than the screen's own white."),
				words.Say("The channels of red, green and blue run differently: an old or a missing correction, or a colour setting of the screen."), words.Say("Load the profile's correction anew, set the screen's colour to neutral, and calibrate anew where that does not help.")},
			{words.Say("coarse steps"), words.Say("Levels of grey that should differ look the same, and others step twice as far."),
				words.Say("A signal of less than 8 bits, a panel of 6 bits, or a correction that costs levels."), words.Say("Set the graphics output to 8 bits or more for each channel, and make a new correction that changes the screen less.")},
			{words.Say("uneven screen"), words.Say("Some places of the screen are darker or lighter than the middle."),
				words.Say("The light behind the panel, or looking at it from the side."), words.Say("Sit in front of the middle. Judge tones in the middle of the screen, and move pictures there.")},
			{words.Say("colours not managed"), words.Say("The browser does not honour the colour profile of a picture."),
				words.Say("The browser's colour management is off."), words.Say("Switch the browser's colour management on, or use another browser.")},
		},
	}
}
