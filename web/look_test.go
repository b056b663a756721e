package web

import (
	"fmt"
	"io/fs"
	"math"
	"os"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// named is every CSS colour keyword that is no neutral (CSS Color Module Level 4, section 6.1, without black, white, silver and the greys).
var named = strings.Fields(`aliceblue antiquewhite aqua aquamarine azure beige bisque blanchedalmond blue blueviolet brown burlywood cadetblue
chartreuse chocolate coral cornflowerblue cornsilk crimson cyan darkblue darkcyan darkgoldenrod darkgreen darkkhaki darkmagenta darkolivegreen
darkorange darkorchid darkred darksalmon darkseagreen darkslateblue darkslategray darkslategrey darkturquoise darkviolet deeppink deepskyblue
dodgerblue firebrick floralwhite forestgreen fuchsia ghostwhite gold goldenrod green greenyellow honeydew hotpink indianred indigo ivory khaki
lavender lavenderblush lawngreen lemonchiffon lightblue lightcoral lightcyan lightgoldenrodyellow lightgreen lightpink lightsalmon lightseagreen
lightskyblue lightslategray lightslategrey lightsteelblue lightyellow lime limegreen linen magenta maroon mediumaquamarine mediumblue
mediumorchid mediumpurple mediumseagreen mediumslateblue mediumspringgreen mediumturquoise mediumvioletred midnightblue mintcream mistyrose
moccasin navajowhite navy oldlace olive olivedrab orange orangered orchid palegoldenrod palegreen paleturquoise palevioletred papayawhip
peachpuff peru pink plum powderblue purple rebeccapurple red rosybrown royalblue saddlebrown salmon sandybrown seagreen seashell sienna skyblue
slateblue slategray slategrey snow springgreen steelblue tan teal thistle tomato turquoise violet wheat yellow yellowgreen`)

var (
	comment    = regexp.MustCompile(`(?s)/\*.*?\*/`)
	hexColour  = regexp.MustCompile(`#[0-9a-fA-F]+\b`)
	functional = regexp.MustCompile(`(?i)\b(rgba?|hsla?|hwb|lab|lch|oklab|oklch|color|color-mix|light-dark)\(([^)]*)\)`)
	value      = regexp.MustCompile(`:[^;{}]*[;}]`)
	attribute  = regexp.MustCompile(`\b(?:fill|stroke|stop-color|flood-color|color|content)="([^"]*)"`)
	keyword    = regexp.MustCompile(`(?i)\b(` + strings.Join(named, "|") + `)\b`)
)

// tints lists the colours in a piece of CSS or in a colour attribute that are no true neutrals, and counts all it looked at.
func tints(text string) (bad []string, seen int) {
	for _, h := range hexColour.FindAllString(text, -1) {
		seen++
		d := h[1:]
		n := map[int]int{3: 1, 4: 1, 6: 2, 8: 2}[len(d)]
		if n == 0 || !strings.EqualFold(d[:n], d[n:2*n]) || !strings.EqualFold(d[:n], d[2*n:3*n]) {
			bad = append(bad, h)
		}
	}
	for _, m := range functional.FindAllStringSubmatch(text, -1) {
		seen++
		p := strings.FieldsFunc(m[2], func(r rune) bool { return r == ' ' || r == ',' || r == '/' })
		if !strings.HasPrefix(strings.ToLower(m[1]), "rgb") || len(p) < 3 || p[0] != p[1] || p[1] != p[2] {
			bad = append(bad, m[0])
		}
	}
	bad = append(bad, keyword.FindAllString(text, -1)...)
	return bad, seen
}

func TestTintsSees(t *testing.T) {
	for _, s := range []string{"#123456", "#fe0", "#ffeeff80", "#12", "rgb(1 2 2)", "rgba(1,1,2,.5)", "hsl(0 0% 50%)", "oklch(.5 .1 0)", "solid Red", "color-mix(in srgb, black, white)"} {
		if bad, _ := tints(s); len(bad) == 0 {
			t.Errorf("%q passes for neutral", s)
		}
	}
	for _, s := range []string{"#2b2b2b", "#fff", "#ffff", "#AAAAAA80", "rgb(9 9 9 / .5)", "rgba(1,1,1,.5)", "currentColor", "Canvas", "grey", "transparent", "var(--ink)"} {
		if bad, _ := tints(s); len(bad) > 0 {
			t.Errorf("%q: %v", s, bad)
		}
	}
}

// Hue may appear in plots of colours, where it helps to find one's way, and there it is faint: the three channels lie within this many codes.
var colourPlots = map[string]bool{"tintplot.templ": true, "gamutsketch.templ": true}

const faint = 40

func TestHueInColourPlotsIsFaint(t *testing.T) {
	for name := range colourPlots {
		b, err := os.ReadFile(path.Join("pages", name))
		if err != nil {
			t.Fatal(err)
		}
		found := regexp.MustCompile(`"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})"`).FindAllStringSubmatch(string(b), -1)
		if len(found) < 3 {
			t.Errorf("%s: only %d colours were found", name, len(found))
		}
		for _, m := range found {
			least, most := uint64(255), uint64(0)
			for _, h := range m[1:] {
				c, _ := strconv.ParseUint(h, 16, 8)
				least, most = min(least, c), max(most, c)
			}
			if most-least > faint {
				t.Errorf("%s: %s is not faint", name, m[0])
			}
		}
	}
}

// No colour outside a proof and the plots of colours: style sheets, drawings and pages hold true neutrals only.
func TestAchromatic(t *testing.T) {
	total := 0
	check := func(name, text string) {
		bad, n := tints(text)
		total += n
		for _, b := range bad {
			t.Errorf("%s: %s is no neutral", name, b)
		}
	}
	for name, b := range Own() {
		switch path.Ext(name) {
		case ".css":
			for _, v := range value.FindAllString(comment.ReplaceAllString(string(b), ""), -1) {
				check(name, v)
			}
		case ".svg":
			for _, m := range attribute.FindAllStringSubmatch(string(b), -1) {
				check(name, m[1])
			}
		}
	}
	pages, err := fs.Glob(os.DirFS("pages"), "*.templ")
	if err != nil || len(pages) == 0 {
		t.Fatalf("no pages: %v", err)
	}
	for _, name := range pages {
		b, err := os.ReadFile(path.Join("pages", name))
		if err != nil {
			t.Fatal(err)
		}
		if colourPlots[name] {
			continue
		}
		for _, m := range attribute.FindAllStringSubmatch(string(b), -1) {
			check(name, m[1])
		}
	}
	if total < 30 {
		t.Errorf("only %d colours were found", total)
	}
}

// tokens reads the custom properties of the :root rule that follows a marker.
func tokens(t *testing.T, css, after string) map[string]float64 {
	t.Helper()
	i := strings.Index(css, after)
	if i < 0 {
		t.Fatalf("no %q", after)
	}
	head := regexp.MustCompile(`:root[^{}]*\{`).FindStringIndex(css[i:])
	if head == nil {
		t.Fatalf("no :root after %q", after)
	}
	rule, _, _ := strings.Cut(css[i+head[1]:], "}")
	out := map[string]float64{}
	for _, m := range regexp.MustCompile(`--(\w+):\s*#([0-9a-f]{6});`).FindAllStringSubmatch(rule, -1) {
		code, _ := strconv.ParseUint(m[2][:2], 16, 8)
		out[m[1]] = luminance(float64(code) / 255)
	}
	return out
}

// luminance is the relative luminance of a grey, and contrast the ratio of two, as WCAG 2.2 defines them.
func luminance(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

func contrast(a, b float64) float64 { return (max(a, b) + 0.05) / (min(a, b) + 0.05) }

// legible is the least contrast of one token on another.
var legible = []struct {
	fore, back string
	least      float64
}{
	{"ink", "room", 7}, {"ink", "sheet", 7}, {"loud", "room", 7}, {"loud", "sheet", 7},
	{"quiet", "room", 4.5}, {"quiet", "sheet", 4.5}, // 1.4.3
	{"room", "ink", 4.5}, {"room", "loud", 4.5}, // buttons
	{"edge", "room", 3}, {"edge", "sheet", 3}, // 1.4.11
}

func TestContrast(t *testing.T) {
	if c := contrast(luminance(1), luminance(0)); math.Abs(c-21) > 1e-9 { // WCAG 2.2, definition of contrast ratio: "can range from 1 to 21"
		t.Fatalf("black on white is %v : 1", c)
	}
	css := comment.ReplaceAllString(string(Own()["look.css"]), "")
	for _, scheme := range []string{":root", "prefers-color-scheme: light", "@media print"} {
		v := tokens(t, css, scheme)
		for _, name := range []string{"room", "sheet", "rule", "edge", "quiet", "ink", "loud"} {
			if _, ok := v[name]; !ok {
				t.Errorf("%s: no --%s", scheme, name)
			}
		}
		for _, pair := range legible {
			if c := contrast(v[pair.fore], v[pair.back]); c < pair.least {
				t.Errorf("%s: --%s on --%s is %.2f : 1, want %v", scheme, pair.fore, pair.back, c, pair.least)
			}
		}
	}
}

// source is a style sheet as it is written, before any are joined.
func source(t *testing.T, name string) string {
	t.Helper()
	text, err := own.ReadFile("assets/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// Style sheets load nothing from elsewhere and name no colour but by token or in a token.
func TestTokensOnly(t *testing.T) {
	for _, name := range []string{"look.css", "proof.css"} {
		css := comment.ReplaceAllString(source(t, name), "")
		if css == "" || strings.Contains(css, "@import") || strings.Contains(css, "//") {
			t.Errorf("%s is not there, or refers elsewhere", name)
		}
		for _, line := range strings.Split(css, "\n") {
			if hexColour.MatchString(line) && !regexp.MustCompile(`^\s*--\w+: #[0-9a-f]{6};\s*$`).MatchString(line) {
				t.Error(fmt.Sprint(name, ": a colour outside the tokens: ", strings.TrimSpace(line)))
			}
		}
	}
}

// A picture hangs on code 119, what is marked there can be read, and beside it a page for those who like light ones is dim: its light at most two and a half times the easel's.
func TestEaselIsMidGrey(t *testing.T) {
	css := comment.ReplaceAllString(source(t, "proof.css"), "")
	if !strings.Contains(css, "--easel: #777777;") { // 0x77 is 119
		t.Error("the easel is not of code 119")
	}
	v := tokens(t, css, ":root")
	for _, pair := range [][2]string{{"onease", "easel"}, {"onease", "pin"}} {
		if c := contrast(v[pair[0]], v[pair[1]]); c < 4.5 {
			t.Errorf("--%s on --%s is %.2f : 1, want 4.5", pair[0], pair[1], c)
		}
	}
	// On paper, and where colours are forced, the page is as every other.
	beside := tokens(t, css, "@media screen and (prefers-color-scheme: light) and (forced-colors: none)")
	if len(beside) != 7 {
		t.Errorf("%d tokens", len(beside))
	}
	for _, pair := range legible {
		if c := contrast(beside[pair.fore], beside[pair.back]); c < pair.least {
			t.Errorf("--%s on --%s is %.2f : 1, want %v", pair.fore, pair.back, c, pair.least)
		}
	}
	if most := 2.5 * v["easel"]; max(beside["room"], beside["sheet"]) > most {
		t.Errorf("the page beside a picture is lighter than %.2f", most)
	}
}
