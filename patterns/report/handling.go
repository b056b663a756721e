package report

import "strings"

// handling fills the finding of what browser and system make of codes and colours. It is found by probes, and by one question by eye.
func (f *Finding) handling(c Conditions) {
	var off, unknown []string
	if c.Width > 0 && !c.Exact {
		off = append(off, "one pixel of a picture is not one pixel of the screen")
	}
	if c.CanvasNoise {
		off = append(off, "the browser alters the codes that a page paints")
	}
	if c.ForcedColors {
		off = append(off, "the system replaces the colours of pages")
	}
	if c.Even == "no" {
		off = append(off, "fine lines do not look even")
	}
	switch {
	case c.Profile == "ignored":
		off = append(off, "the browser does not honour the colour profile of a picture")
	case c.Twin == "no":
		off = append(off, "a picture with a colour profile does not look like its plain twin")
	case c.Profile != "honoured":
		unknown = append(unknown, "whether the browser honours the colour profile of a picture")
	}
	switch {
	case c.Width == 0:
		f.Why = "The browser told nothing about its canvas."
		return
	case len(off) > 0:
		f.Verdict, f.Why = Off, ""
		f.Seen = sentence(strings.Join(off, "; "))
	case len(unknown) > 0:
		f.Verdict = Unsure
		f.Seen = "Codes reach the screen as they were painted."
		f.Why = "It could not be found out " + strings.Join(unknown, ", ") + "."
	default:
		f.Verdict, f.Why = Holds, ""
		f.Within = 1
		f.Seen = "Codes reach the screen as they were painted, and the browser honours colour profiles."
	}
	f.Smallest = "A wide screen whose browser leaves colours as they are cannot be found by grey patterns."
}

// sentence puts a capital and a full stop to words.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
