package pages

// An Allowance is what two kinds of decision allow of one aspect, and why, in words. The page that shows it cannot look the figures up, since pages know
// nothing of screens; whoever changes the tolerances changes them here too.
type Allowance struct{ Aspect, Layout, Light, Why string }

// Allowances are the tolerances of the report, aspect by aspect.
var Allowances = []Allowance{
	{"Shadows", "first visible code at most 24", "first visible code at most 9", "A sound screen with gamma 2.2 shows code 5 to 7 to an ideal eye in a lit room, computed with the function of DICOM PS3.14; a typical eye sees a code or two later. Up to 24, dark words and edges on black still show."},
	{"Highlights", "white begins no lower than code 239", "white begins no lower than code 250", "One code below white is about 1.2 just visible steps; a typical eye sees the second or third. From 250 down, texture in paper and cloud is lost that others will see."},
	{"Tone", "gamma within 0.45 of the aim, and no grey further than 9 delta E 2000 from it", "gamma within 0.15 of the aim, and no grey further than 3 delta E 2000 from it", "Below 0.15 a judgement by eye can claim nothing, by our simulation; 3 delta E 2000 is about what that error does to the middle tones."},
	{"Neutrals, smoothness, evenness, colour range, handling", "not needed", "not needed", "There are no checks for them yet."},
}
