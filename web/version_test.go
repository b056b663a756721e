package web

import (
	"runtime/debug"
	"testing"
)

func TestVersion(t *testing.T) {
	info := func(pairs ...string) *debug.BuildInfo {
		b := &debug.BuildInfo{}
		for i := 0; i < len(pairs); i += 2 {
			b.Settings = append(b.Settings, debug.BuildSetting{Key: pairs[i], Value: pairs[i+1]})
		}
		return b
	}
	for _, c := range []struct {
		info *debug.BuildInfo
		want string
	}{
		{info(), "unreleased"},
		{info("vcs.revision", "0123456789abcdef0123", "vcs.time", "2026-11-24T10:00:00Z", "vcs.modified", "false"), "0123456789ab, 2026-11-24"},
		{info("vcs.revision", "0123456789abcdef0123", "vcs.modified", "true"), "0123456789ab with changes"},
		{info("vcs.revision", "01"), "01"},
	} {
		if got := version(c.info); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	if Version() == "" {
		t.Error("no version at all")
	}
}
