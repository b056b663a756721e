package picture

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io/fs"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"

	"example.org/plumb/testdata"
	"example.org/plumb/web/picture/picturetest"
)

// walked walks through a file; understood says whether all of it was.
func walkThrough(t testing.TB, b []byte) (notes []string, refused string, understood bool) {
	t.Helper()
	notes, err := About{Kind: JPEG}.Walk(bytes.NewReader(b), int64(len(b)), nil)
	if r, ok := errors.AsType[*Refused](err); ok {
		refused = r.Why
		if !strings.HasSuffix(r.Why, ".") || r.Do == "" {
			t.Errorf("%+v", r)
		}
	} else if err != nil {
		t.Fatal(err)
	}
	w := &walker{in: tape{r: bytes.NewReader(b), size: int64(len(b))}}
	return notes, refused, !errors.Is(w.walk(), errStrange)
}

// soundFiles are JPEGs in which nothing is wrong, by name.
func soundFiles(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{}
	err := fs.WalkDir(testdata.Photos, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".jpg") || strings.Contains(path, "cmyk") {
			return err
		}
		all[path], err = testdata.Photos.ReadFile(path)
		return err
	})
	if err != nil || len(all) < 15 {
		t.Fatalf("%v, %d files", err, len(all))
	}
	random := rand.New(rand.NewPCG(3, 4))
	for _, size := range [][2]int{{1, 1}, {8, 8}, {17, 33}, {300, 5}} {
		for _, quality := range []int{1, 50, 100} {
			m, g := image.NewRGBA(image.Rect(0, 0, size[0], size[1])), image.NewGray(image.Rect(0, 0, size[0], size[1]))
			for i := range m.Pix {
				m.Pix[i] = uint8(255 * random.IntN(2)) // nothing is steeper
			}
			for i := range g.Pix {
				g.Pix[i] = uint8(random.IntN(256))
			}
			for name, img := range map[string]image.Image{"noise": m, "grey": g, "white": image.NewUniform(color.White), "black": image.NewUniform(color.Black)} {
				if u, ok := img.(*image.Uniform); ok {
					r := image.NewRGBA(m.Rect)
					for y := range size[1] {
						for x := range size[0] {
							r.Set(x, y, u.C)
						}
					}
					img = r
				}
				var b bytes.Buffer
				if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
					t.Fatal(err)
				}
				all[fmt.Sprintf("%s %d x %d at %d", name, size[0], size[1], quality)] = b.Bytes()
			}
		}
	}
	cat := all["photos/cat.jpg"]
	all["with a film behind it"] = append(bytes.Clone(cat), bytes.Repeat([]byte("film\xff\xd8\xff\x00"), 5000)...)
	all["with filling bytes"] = slices.Concat(cat[:2], []byte{0xff, 0xff}, cat[2:len(cat)-2], []byte{0xff, 0xff}, cat[len(cat)-2:])
	all["with padding"] = slices.Concat(cat[:len(cat)-2], make([]byte, 300), cat[len(cat)-2:])
	all["with a profile"] = picturetest.Embed(cat, picturetest.DisplayP3.Bytes(), 6)
	return all
}

func TestSoundData(t *testing.T) {
	for name, b := range soundFiles(t) {
		if _, err := Read(bytes.NewReader(b), int64(len(b))); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if notes, refused, ok := walkThrough(t, b); len(notes) > 0 || refused != "" || !ok {
			t.Errorf("%s: %q, %q, understood %v", name, notes, refused, ok)
		}
	}
	if notes, err := (About{Kind: PNG}).Walk(nil, 5, nil); notes != nil || err != nil {
		t.Errorf("a PNG: %q, %v", notes, err)
	}
}

// Damage between a sound header and a sound end is found: always where much is lost or zeroed, mostly where codes run on by luck, and rarely where one bit turned within a number.
func TestDamagedData(t *testing.T) {
	kinds := []struct {
		name   string
		damage func(b []byte, at int, random *rand.Rand) []byte
		least  float64 // share that is told
	}{
		{"zeros, 32", func(b []byte, at int, _ *rand.Rand) []byte { clear(b[at : at+32]); return b }, 0.93},
		{"zeros, 512", func(b []byte, at int, _ *rand.Rand) []byte { clear(b[at : at+512]); return b }, 0.97},
		{"noise, 512", func(b []byte, at int, r *rand.Rand) []byte {
			for i := range 512 {
				b[at+i] = byte(r.Uint32())
			}
			return b
		}, 0.96},
		{"broken off", func(b []byte, at int, _ *rand.Rand) []byte { return append(b[:at], 0xff, 0xd9) }, 1},
		{"left out, 1000", func(b []byte, at int, _ *rand.Rand) []byte { return append(b[:at], b[at+1000:]...) }, 0.96},
		{"left out, 100", func(b []byte, at int, _ *rand.Rand) []byte { return append(b[:at], b[at+100:]...) }, 0.93},
		{"put in, 100", func(b []byte, at int, r *rand.Rand) []byte {
			more := make([]byte, 100)
			for i := range more {
				more[i] = byte(r.Uint32())
			}
			return slices.Concat(b[:at], more, b[at:])
		}, 0.91},
		{"a byte", func(b []byte, at int, r *rand.Rand) []byte { b[at] ^= byte(1 + r.IntN(255)); return b }, 0.3},
	}
	random := rand.New(rand.NewPCG(1, 2))
	files := soundFiles(t)
	names := []string{"photos/cat.jpg", "photos/coffee.jpg", "photos/dusk.jpg", "photos/retina.jpg", "photos/stars.jpg", "scans/restart.jpg", "scans/planes.jpg", "scans/full.jpg", "scans/thin.jpg", "scans/progressive-restart.jpg", "scans/grey.jpg"}
	for _, k := range kinds {
		told, all := 0, 0
		for _, name := range names {
			whole := files[name]
			from := bytes.Index(whole, []byte("\xff\xda")) + 20
			for range 15 {
				at := from + random.IntN(len(whole)-from-1100)
				b := k.damage(bytes.Clone(whole), at, random)
				all++
				if _, err := Read(bytes.NewReader(b), int64(len(b))); err != nil {
					told++
				} else if notes, err := (About{Kind: JPEG}).Walk(bytes.NewReader(b), int64(len(b)), nil); err != nil || len(notes) > 0 {
					told++
				}
			}
		}
		t.Logf("%s: %d of %d told", k.name, told, all)
		if share := float64(told) / float64(all); share < k.least {
			t.Errorf("%s: %.3f told, want %.3f", k.name, share, k.least)
		}
	}
}

// made is a JPEG of one channel and n squares of 8 by 8 pixels, one beside the other, whose codes are those of dcCodes and acCodes.
type made struct {
	n           int
	progressive bool
	restart     int
	step        byte // of all coefficients
	scans       []madeScan
}

type madeScan struct {
	from, to, highLow byte
	bits              string // ones and zeros; "R3" begins anew behind restart marker 3; blanks are passed over
	more              []byte // behind them
}

// Values in the order of their codes 0, 10, 110, 1110, 11110, 111110.
var (
	dcCodes = []byte{0, 1, 11, 12, 10}
	acCodes = []byte{0x00, 0xf0, 0x01, 0x31, 0x10, 0x0a}
)

func (m made) bytes() []byte {
	segment := func(mark byte, b ...byte) []byte {
		return slices.Concat([]byte{0xff, mark}, binary.BigEndian.AppendUint16(nil, uint16(len(b)+2)), b)
	}
	table := func(which byte, values []byte) []byte {
		b := make([]byte, 17, 64)
		b[0] = which
		for i := range values {
			b[1+i] = 1
		}
		return segment(0xc4, append(b, values...)...)
	}
	sof := byte(0xc0)
	if m.progressive {
		sof = 0xc2
	}
	out := slices.Concat([]byte{0xff, 0xd8}, segment(0xdb, append([]byte{0}, bytes.Repeat([]byte{max(m.step, 1)}, 64)...)...),
		segment(sof, 8, 0, 8, byte(8*m.n>>8), byte(8*m.n), 1, 1, 0x11, 0), table(0, dcCodes), table(0x10, acCodes), segment(0xdd, 0, byte(m.restart)))
	for _, s := range m.scans {
		if !m.progressive {
			s.to = 63
		}
		out = append(out, segment(0xda, 1, 1, 0, s.from, s.to, s.highLow)...)
		for i, part := range strings.Split(s.bits, "R") {
			if i > 0 {
				out = append(out, 0xff, 0xd0+part[0]-'0')
				part = part[1:]
			}
			part = strings.ReplaceAll(part, " ", "")
			for len(part)%8 != 0 {
				part += "1"
			}
			for ; part != ""; part = part[8:] {
				var c byte
				for j := range 8 {
					c = c<<1 | part[j]&1
				}
				if out = append(out, c); c == 0xff {
					out = append(out, 0)
				}
			}
		}
		out = append(out, s.more...)
	}
	return append(out, 0xff, 0xd9)
}

// Each thing that no picture has is told, and beside it what pictures do have is not.
func TestWhatNoPictureHas(t *testing.T) {
	const flat = "0 0 " // no difference of the mean, nothing else
	ones := strings.Repeat("1", 11)
	first := madeScan{0, 0, 0, "000", nil}
	for name, c := range map[string]struct {
		made
		told string // part of the refusal or of the note; "" where nothing is wrong
	}{
		"flat squares":               {made{n: 3, scans: []madeScan{{bits: flat + flat + flat}}}, ""},
		"one missing":                {made{n: 20, scans: []madeScan{{bits: strings.Repeat(flat, 3)}}}, "height"},
		"data for more":              {made{n: 3, scans: []madeScan{{bits: strings.Repeat(flat, 3), more: bytes.Repeat([]byte{0x5a}, 2000)}}}, "for more"},
		"a little more":              {made{n: 3, scans: []madeScan{{bits: strings.Repeat(flat, 3), more: []byte{0x5a}}}}, "a byte of picture data more"},
		"padding":                    {made{n: 3, scans: []madeScan{{bits: strings.Repeat(flat, 3), more: []byte{0, 0, 0xff, 0}}}}, ""},
		"no such code":               {made{n: 3, scans: []madeScan{{bits: flat + "1111110" + strings.Repeat(flat, 9)}}}, "height"},
		"a mean beyond all":          {made{n: 3, scans: []madeScan{{bits: flat + "1110 111111111111 0" + strings.Repeat(flat, 9)}}}, "height"},
		"a mean beyond white":        {made{n: 3, step: 2, scans: []madeScan{{bits: "110" + "11001000000" + "0" + flat + flat}}}, "height"},    // 1600 steps of 2
		"a mean a little beyond":     {made{n: 2, step: 1, scans: []madeScan{{bits: "110" + "10001000000" + "0" + flat}}}, "2 of its squares"}, // 1088
		"a mean that is white":       {made{n: 2, step: 1, scans: []madeScan{{bits: "11110" + "1111111000" + "0" + flat}}}, ""},                // 1016
		"zeros to the end":           {made{n: 2, scans: []madeScan{{bits: "0 10 10 10 1110 1 0 0 0 0"}}}, ""},                                 // 48 of them, 3, one coefficient; end
		"zeros beyond the end":       {made{n: 2, scans: []madeScan{{bits: "0 10 10 10 10 10 0 0 0"}}}, "height"},
		"a coefficient beyond it":    {made{n: 2, scans: []madeScan{{bits: "0 10 10 10 1110 1 1110 1 1110 1 1110 1 1110 1 0 0 0"}}}, "height"},
		"steeper than any":           {made{n: 2, step: 3, scans: []madeScan{{bits: "0 111110 " + ones[:10] + " 0 0 0"}}}, "height"}, // 1023 steps of 3
		"as steep as can be":         {made{n: 2, step: 1, scans: []madeScan{{bits: "0 111110 " + ones[:10] + " 0 0 0"}}}, ""},
		"steep in many directions":   {made{n: 2, step: 1, scans: []madeScan{{bits: "0" + strings.Repeat("111110"+ones[:10], 4) + " 0 0 0"}}}, "height"},
		"and as steep the other way": {made{n: 2, step: 1, scans: []madeScan{{bits: "0" + strings.Repeat("111110"+strings.Repeat("0", 10), 4) + " 0 0 0"}}}, "height"},
		"no such code for a square":  {made{n: 3, scans: []madeScan{{bits: flat + "0 1111110" + strings.Repeat(flat, 9)}}}, "height"},
		"restarts":                   {made{n: 4, restart: 2, scans: []madeScan{{bits: flat + flat + "R0" + flat + flat}}}, ""},
		"a restart too early":        {made{n: 4, restart: 2, scans: []madeScan{{bits: flat + "R0" + flat + flat + flat}}}, "height"},
		"a restart too late":         {made{n: 4, restart: 2, scans: []madeScan{{bits: strings.Repeat(flat, 5) + "01010101" + "R0" + flat + flat}}}, "height"},
		"another restart":            {made{n: 4, restart: 2, scans: []madeScan{{bits: flat + flat + "R1" + flat + flat}}}, "height"},
		"a restart of none":          {made{n: 4, scans: []madeScan{{bits: flat + flat + "R0" + flat + flat}}}, "height"},
		"one restart more":           {made{n: 2, restart: 2, scans: []madeScan{{bits: flat + flat + "R0 01011010"}}}, "3 bytes"},

		"in steps":                    {made{n: 3, progressive: true, scans: []madeScan{first, {1, 63, 0, "110 1 0 0 0", nil}}}, ""},
		"means alone":                 {made{n: 3, progressive: true, scans: []madeScan{first}}, ""},
		"all others alone":            {made{n: 3, progressive: true, scans: []madeScan{{1, 63, 0, "0 0 0", nil}}}, "missing"},
		"a run over squares":          {made{n: 3, progressive: true, scans: []madeScan{first, {1, 63, 0, "11110 1", nil}}}, ""}, // 2 and 1: three squares
		"a run beyond the last":       {made{n: 2, progressive: true, scans: []madeScan{{0, 0, 0, "00", nil}, {1, 63, 0, "11110 1", nil}}}, "scans"},
		"a run over a restart":        {made{n: 4, restart: 2, progressive: true, scans: []madeScan{{0, 0, 0, "00R000", nil}, {1, 63, 0, "11110 1 R0 0 0", nil}}}, "scans"},
		"beyond the band":             {made{n: 3, progressive: true, scans: []madeScan{first, {1, 3, 0, "1110 1 0 0 0 0", nil}}}, "scans"},
		"one bit more":                {made{n: 3, progressive: true, scans: []madeScan{{0, 0, 1, "000", nil}, {0, 0, 0x10, "101", nil}}}, ""},
		"one bit more for many":       {made{n: 3, progressive: true, scans: []madeScan{{0, 0, 1, "000", nil}, {0, 0, 0x10, "10", []byte{0x5a, 0x5a}}}}, "2 bytes"},
		"bits for what is there":      {made{n: 2, progressive: true, scans: []madeScan{{0, 0, 0, "00", nil}, {1, 63, 1, "110 1 110 0 0 0", nil}, {1, 63, 0x10, "0 1 0 0", nil}}}, ""},
		"and a new one between":       {made{n: 1, progressive: true, scans: []madeScan{{0, 0, 0, "0", nil}, {1, 63, 1, "110 1 110 0 0", nil}, {1, 63, 0x10, "1110 1 1 0 0", nil}}}, ""},
		"a new one that is too large": {made{n: 1, progressive: true, scans: []madeScan{{0, 0, 0, "0", nil}, {1, 63, 1, "0", nil}, {1, 63, 0x10, "111110 0", nil}}}, "scans"},
		"a new one beyond the end":    {made{n: 1, progressive: true, scans: []madeScan{{0, 0, 0, "0", nil}, {1, 63, 1, "0", nil}, {1, 63, 0x10, "10 10 10 1110 1 1110 1 1110 1 1110 1 1110 1", nil}}}, "scans"},
	} {
		b := c.bytes()
		notes, refused, ok := walkThrough(t, b)
		text := refused + strings.Join(notes, " ")
		if !ok || (text == "") != (c.told == "") || !strings.Contains(text, c.told) {
			t.Errorf("%s: %q, %q, understood %v; want %q", name, refused, notes, ok, c.told)
		}
		// What is sound here decodes elsewhere.
		if _, err := jpeg.Decode(bytes.NewReader(b)); c.told == "" && err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A picture may also break off where there are no pixels, and go on with what is no part of one.
func TestBetweenScans(t *testing.T) {
	whole := soundFiles(t)["scans/full.jpg"]
	at := bytes.LastIndex(whole, []byte{0xff, 0xc4})
	for name, b := range map[string][]byte{
		"in a table":         slices.Concat(whole[:at+9], []byte{0xff, 0xd9}),
		"a wrong length":     slices.Concat(whole[:at], []byte("\xff\xfe\x00\x06words"), whole[at:]),
		"no end":             whole[:len(whole)-2],
		"no end, no markers": whole[:at],
	} {
		if _, refused, ok := walkThrough(t, b); refused == "" || !ok {
			t.Errorf("%s: %q, understood %v", name, refused, ok)
		}
	}
}

// Time and memory are bounded by the size of the picture and of the file, whatever they say.
func TestHostileData(t *testing.T) {
	// A thousand scans that each go over all squares: no picture has them, and the walk ends early without a word.
	big := made{n: 8000, progressive: true, scans: []madeScan{{0, 0, 0, strings.Repeat("0", 8000), nil}}}
	for range 1000 {
		big.scans = append(big.scans, madeScan{1, 63, 0, strings.Repeat("0", 8000), nil})
	}
	b := big.bytes()
	w := &walker{in: tape{r: bytes.NewReader(b), size: int64(len(b))}}
	if err := w.walk(); !errors.Is(err, errStrange) || w.in.at > int64(len(b))/4 {
		t.Errorf("%v after %d of %d bytes", err, w.in.at, len(b))
	}
	big.scans = big.scans[:60]
	if notes, refused, ok := walkThrough(t, big.bytes()); len(notes) > 0 || refused != "" || !ok {
		t.Errorf("sixty scans: %q, %q", notes, refused)
	}
	for name, file := range map[string][]byte{"no file": nil, "a start": {0xff, 0xd8}, "an end": {0xff, 0xd8, 0xff, 0xd9}, "a scan alone": {0xff, 0xd8, 0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 0xff, 0xd9}} {
		if notes, refused, ok := walkThrough(t, file); len(notes) > 0 || refused != "" || ok {
			t.Errorf("%s: %q, %q, understood %v", name, notes, refused, ok)
		}
	}
	// As large as pictures are taken: 100 million pixels in 1500 bytes.
	small := made{n: 1, progressive: true, scans: []madeScan{{0, 0, 0, "0", nil}}}.bytes()
	at := bytes.Index(small, []byte{0xff, 0xc2})
	binary.BigEndian.PutUint16(small[at+5:], 10000)
	binary.BigEndian.PutUint16(small[at+7:], 10000)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, refused, _ := walkThrough(t, small)
	runtime.ReadMemStats(&after)
	// Twice, for it is walked through twice here.
	if used := after.TotalAlloc - before.TotalAlloc; used > 2*(100e6/8+1<<20) || refused == "" {
		t.Errorf("%d bytes, %q", used, refused)
	}
	lost := errors.New("lost")
	if _, err := (About{Kind: JPEG}).Walk(failing{lost}, 1000, nil); !errors.Is(err, lost) {
		t.Errorf("a reader that fails: %v", err)
	}
}

type failing struct{ err error }

func (f failing) ReadAt([]byte, int64) (int, error) { return 0, f.err }

func TestWalkTellsHowFar(t *testing.T) {
	m := image.NewRGBA(image.Rect(0, 0, 2000, 1500))
	random := rand.New(rand.NewPCG(5, 6))
	for i := range m.Pix {
		m.Pix[i] = uint8(random.Uint32())
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	var shares []float64
	if notes, err := (About{Kind: JPEG}).Walk(bytes.NewReader(b.Bytes()), int64(b.Len()), func(s float64) { shares = append(shares, s) }); err != nil || len(notes) > 0 {
		t.Fatal(notes, err)
	}
	if len(shares) < 2 || !slices.IsSorted(shares) || shares[0] <= 0 || shares[len(shares)-1] > 1 {
		t.Errorf("%v of %d bytes", shares, b.Len())
	}
}

func FuzzWalk(f *testing.F) {
	for _, b := range soundFiles(f) {
		if len(b) < 1<<14 {
			f.Add(b)
		}
	}
	f.Add(made{n: 2, progressive: true, scans: []madeScan{{0, 0, 0, "00", nil}, {1, 63, 1, "110 1 110 0 0 0", nil}, {1, 63, 0x10, "0 1 0 0", nil}}}.bytes())
	f.Add(made{n: 4, restart: 2, scans: []madeScan{{bits: "0 0 0 0 R0 0 0 0 0"}}}.bytes())
	f.Fuzz(func(t *testing.T, b []byte) { walkThrough(t, b) })
}

func BenchmarkWalk(b *testing.B) {
	file, err := testdata.Photos.ReadFile("photos/stars.jpg")
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		if _, err := (About{Kind: JPEG}).Walk(bytes.NewReader(file), int64(len(file)), nil); err != nil {
			b.Fatal(err)
		}
	}
}
