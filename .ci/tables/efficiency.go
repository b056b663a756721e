package main

import (
	"errors"
	"regexp"
	"strings"
)

// logged is what a test printed of itself: the file and line, and the words.
var logged = regexp.MustCompile(`^\s+\w+_test\.go:\d+: (.*)$`)

// efficiency prints how each procedure does beside the least error that any estimator could reach, as the tests of the bounds measure it on the viewers of
// each procedure's own model.
func efficiency(b *bench) error {
	out, err := b.command(nil, "go", "test", "-count=1", "-v", "-run", "Bound|AngleRecovers|ChannelsRecover|WhiteRecovers", "./patterns/check")
	if err != nil {
		return err
	}
	var rows [][]string
	test := ""
	for line := range strings.Lines(out) {
		line = strings.TrimRight(line, "\n")
		if name, ok := strings.CutPrefix(line, "=== RUN   "); ok {
			test = name
		} else if m := logged.FindStringSubmatch(line); m != nil {
			rows = append(rows, []string{test, strings.ReplaceAll(m[1], "|", "/")})
		}
	}
	if len(rows) == 0 {
		return errors.New("the tests of the bounds print nothing")
	}
	return b.table("Efficiency", "What the tests of the bounds measured; errors beside the Bayesian Cramér-Rao bound or the sweat factor, in their own units.", []string{"test", "measured"}, rows)
}
