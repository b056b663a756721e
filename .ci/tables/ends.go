package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"

	"example.org/plumb/patterns/check"
)

// nearEnds measures the checks near black and white beside the sweat factor, on screens without crush and clip, for typical viewers.
func nearEnds(b *bench) error {
	folder := filepath.Join(b.dir, "plain")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for _, white := range []float64{80, 120, 180, 270, 350} {
		for _, lux := range []float64{5, 40, 300} {
			text, err := json.Marshal(map[string]any{
				"white": map[string]any{"luminance": white, "xy": []float64{0.3127, 0.3290}}, "black": white / 1000,
				"room": map[string]any{"lux": lux, "reflectance": 0.01}, "tone": []any{map[string]any{"curve": "gamma", "gamma": 2.2}},
			})
			if err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("%g-%g.json", white, lux)), text, 0o644); err != nil {
				return err
			}
		}
	}
	var rows [][]string
	for _, length := range []string{"short", "standard", "long"} {
		_, sittings, err := b.rehearse("-screen", folder, "-fixed", "-viewer", "typical", "-length", length, "-sittings", strconv.Itoa(b.sittings(300)))
		if err != nil {
			return err
		}
		for _, c := range []struct {
			aspect, quantity string
			// How steeply a typical viewer's seeing rises with code values: with the power 2.5 of the difference in light, which near black is the
			// power 2.2 of the code on these screens, and near white in proportion to it.
			slope float64
		}{
			{"shadows", "first visible code", 2.5 * 2.2},
			{"highlights", "first visible step", 2.5},
		} {
			n, spent, sum, square := 0., 0., 0., 0.
			for _, r := range sittings {
				e, ok := r.Estimates[c.quantity]
				if r.Void || !ok || e.Mean <= 0 || e.Truth <= 0 {
					continue
				}
				d := math.Log(e.Mean / e.Truth)
				n, spent, sum, square = n+1, spent+float64(r.Spent[c.aspect]), sum+d, square+d*d
			}
			if n < 2 || spent == 0 {
				return fmt.Errorf("%s, %s: no estimate of %s", c.aspect, length, c.quantity)
			}
			mean := sum / n
			sd := math.Sqrt((square - n*mean*mean) / (n - 1))
			bound := check.NearEndBound(c.slope, int(math.Round(spent/n)), math.Inf(1))
			rows = append(rows, []string{c.aspect, length, fmt.Sprintf("%.0f", n), fmt.Sprintf("%.0f", spent/n), fmt.Sprintf("%.3f", sd), fmt.Sprintf("%+.3f", mean),
				fmt.Sprintf("%.3f", bound), fmt.Sprintf("%.2f", sd/bound)})
		}
	}
	return b.table("Near black and near white", "The SD over sittings of the estimate's natural logarithm less the truth's, for typical viewers at 15 screens without crush and clip, beside "+
		"the least that unbiased estimates could reach (the sweat factor of Taylor and Creelman 1967, every judgement at its best place: check.NearEndBound). "+
		"The estimates also know a prior, which can take them below it, and step by whole codes, which keeps them above. Held to nothing: no rule finds the best place without looking for it; what the best rule "+
		"could do is under Efficiency.",
		[]string{"check", "length", "sittings", "judgements", "SD", "bias", "bound", "times the bound"}, rows)
}
