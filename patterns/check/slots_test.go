package check

import (
	"math/rand/v2"
	"testing"
)

// stretches lists, for one check of a plan, the trials before each catch trial.
func stretches(all []slot, a Aspect) (at []int, trials int) {
	for _, s := range all {
		if s.check != a {
			continue
		}
		switch s.kind {
		case Catch:
			at = append(at, trials)
		case Trial:
			trials++
		}
	}
	return at, trials
}

// Every plan holds what the battery says, practice first; catch trials come neither first nor twice in a row, and each falls anywhere in its stretch.
func TestSlots(t *testing.T) {
	const seeds = 600
	for _, of := range []struct {
		l      Length
		checks map[Aspect]counts
		fixed  bool
	}{
		{Short, battery[Short], false}, {Standard, battery[Standard], false}, {Long, battery[Long], false}, {Short, fixed[Short], true}, {Standard, fixed[Standard], true}, {Long, fixed[Long], true},
	} {
		l, checks := of.l, of.checks
		places := map[Aspect]map[int]map[int]int{} // by check and catch trial: how often after so many trials
		for seed := range uint64(seeds) {
			all := Plan{Length: l, Seed: seed, Fixed: of.fixed}.slots()
			got := map[slot]int{}
			for i, s := range all {
				got[s]++
				if s.kind != Catch {
					continue
				}
				if before := all[i-1]; before.kind == Catch || before.check != s.check || before.kind == Practice {
					t.Fatalf("%s, seed %d: a catch trial of %s after %v", l, seed, s.check, before)
				}
			}
			came := ""
			for _, s := range all {
				if k := string(s.check); len(came) < len(k) || came[len(came)-len(k):] != k {
					came += k
				}
			}
			want := ""
			for _, a := range order {
				if _, ok := checks[a]; ok {
					want += string(a)
				}
			}
			if came != want {
				t.Fatalf("%s: checks come as %s", l, came)
			}
			for a, n := range checks {
				if (counts{got[slot{a, Practice}], got[slot{a, Setting}], got[slot{a, Trial}], got[slot{a, Catch}]}) != n {
					t.Fatalf("%s: %s has %v, want %+v", l, a, got, n)
				}
				at, trials := stretches(all, a)
				if len(at) > 0 && at[0] == 0 || trials != n.trials {
					t.Fatalf("%s: %s has %d trials and catch trials after %v", l, a, trials, at)
				}
				if places[a] == nil {
					places[a] = map[int]map[int]int{}
				}
				for c, p := range at {
					if places[a][c] == nil {
						places[a][c] = map[int]int{}
					}
					places[a][c][p]++
				}
			}
		}
		for a, n := range checks {
			for c, p := range places[a] {
				most, whole := 0, 0
				for _, v := range p {
					most = max(most, v)
					whole += v
				}
				stretch := n.trials*(c+1)/n.catches - n.trials*c/n.catches
				want := stretch
				if c == 0 { // not before the first trial
					want = max(stretch-1, 1)
				}
				if len(p) != want || whole != seeds || want > 1 && most > 2*seeds/want {
					t.Errorf("%s %s: catch trial %d falls at %v of a stretch of %d", l, a, c, p, stretch)
				}
			}
		}
	}
}

// Sides come in pairs, one of each, and which comes first is even and not the same for all pairs.
func TestSides(t *testing.T) {
	first, changes, pairs := 0, 0, 0
	for seed := range uint64(400) {
		s := &Sitting{plan: Plan{Seed: seed}}
		for _, k := range []Kind{Trial, Setting, Catch} {
			here := slot{Tone, k}
			last := false
			for n := 0; n < 12; n += 2 {
				a, b := s.left(here, n), s.left(here, n+1)
				if a == b {
					t.Fatalf("seed %d, %s: judgements %d and %d are on the same side", seed, k, n, n+1)
				}
				pairs++
				if a {
					first++
				}
				if n > 0 && a != last {
					changes++
				}
				last = a
			}
		}
	}
	// Binomial: SD of 7200 pairs is 42, of 6000 changes 39.
	if d := first - pairs/2; d > 140 || d < -140 {
		t.Errorf("of %d pairs %d begin on the left", pairs, first)
	}
	if d := changes - pairs*5/12; d > 130 || d < -130 {
		t.Errorf("%d of %d pairs begin on another side than the one before", changes, pairs*5/6)
	}
}

// A sitting takes about as long as its length says, and less where something is left out.
func TestAbout(t *testing.T) {
	last := 0
	for _, l := range []Length{Short, Standard, Long} {
		n, d := About(l, nil)
		if n <= last || d < budgets[l] || d > budgets[l]*11/10 {
			t.Errorf("%s: %d judgements, %v", l, n, d)
		}
		last = n
		for a := range battery[l] {
			m, e := About(l, map[Aspect]string{a: "no"})
			if m >= n || e >= d {
				t.Errorf("%s without %s: %d of %d judgements, %v of %v", l, a, m, n, e, d)
			}
			for _, one := range (Plan{Length: l, Skip: map[Aspect]string{a: "no"}}).slots() {
				if one.check == a {
					t.Fatalf("%s without %s asks for it", l, a)
				}
			}
		}
	}
}

// Of codes that are lost at either end neither lines nor the plain side are made, but for black and white themselves. Every sixth comparison is moved off the
// match and may come nearer to the ends.
func TestLinesKeepClearOfWhatIsLost(t *testing.T) {
	p := beginLines(0)
	p.hear(context{lo: 70, hi: 185})
	r := rand.New(rand.NewPCG(1, 2))
	seen := 0
	for n := range 40 {
		kind := Trial
		if n < 4 {
			kind = Setting
		}
		s := p.choose(kind, n, n%2 == 0, r)
		if s.A != 0 && s.A <= 70 || s.B != 255 && s.B >= 185 || (int(s.Plain) <= 70 || int(s.Plain) >= 185) && (kind == Setting || n%easyEvery != easyEvery-1) {
			t.Errorf("judgement %d: lines of %d and %d beside %d, where codes to 70 and from 185 are lost", n, s.A, s.B, s.Plain)
		}
		if s.A == 0 || s.B == 255 {
			seen++
		}
		if err := p.record(Judgement{Check: Tone, Kind: kind, Stimulus: s, Response: n % 2 * (1 - n/4%2) * min(max(n-3, 0), 1)}); err != nil {
			t.Fatal(err)
		}
	}
	if seen == 0 {
		t.Error("no lines of black or white came up")
	}
}
