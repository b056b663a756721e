//go:build !js

package web

import "strings"

// choose picks the content coding to answer with: the acceptable one of greatest weight, at equal weight the first of have, and "identity" after them.
// accept is the value of Accept-Encoding (RFC 9110, section 12.5.3), empty when there is none; a member that is not of the grammar is passed over.
// ok is false when nothing acceptable is left, which only a client that refuses identity can bring about.
func choose(accept string, have []string) (coding string, ok bool) {
	weight := map[string]int{}
	for member := range strings.SplitSeq(accept, ",") {
		name, rest, weighted := strings.Cut(member, ";")
		name = strings.ToLower(strings.Trim(name, " \t"))
		if name == "x-gzip" { // to be taken for gzip, section 8.4.1.3
			name = "gzip"
		}
		q := 1000
		if weighted {
			var good bool
			if q, good = parseWeight(rest); !good {
				continue
			}
		}
		if _, twice := weight[name]; name != "" && !twice {
			weight[name] = q
		}
	}
	any, all := weight["*"]
	best := 0
	for _, c := range have {
		q, named := weight[c]
		if !named && all {
			q = any
		}
		if q > best {
			coding, best = c, q
		}
	}
	q, named := weight["identity"]
	switch {
	case named && q > best:
		return "identity", true
	case best > 0:
		return coding, true
	case named:
		return "identity", q > 0
	}
	return "identity", !all || any > 0
}

// parseWeight reads `q=` and a weight in thousandths: 0 or 1 with at most three decimals, at most 1.
func parseWeight(s string) (thousandths int, ok bool) {
	s = strings.Trim(s, " \t")
	if len(s) < 3 || s[0] != 'q' && s[0] != 'Q' || s[1] != '=' {
		return 0, false
	}
	whole, decimals, dotted := strings.Cut(s[2:], ".")
	if whole != "0" && whole != "1" || len(decimals) > 3 {
		return 0, false
	}
	n := int(whole[0]-'0') * 1000
	if dotted {
		for i, place := 0, 100; i < len(decimals); i, place = i+1, place/10 {
			if decimals[i] < '0' || decimals[i] > '9' {
				return 0, false
			}
			n += int(decimals[i]-'0') * place
		}
	}
	return n, n <= 1000
}
