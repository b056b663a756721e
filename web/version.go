package web

import "runtime/debug"

// Version is the commit that this program was built from, with its day, as the build recorded it; "unreleased" when it recorded none.
func Version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unreleased"
	}
	return version(info)
}

func version(info *debug.BuildInfo) string {
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	commit := set["vcs.revision"]
	if commit == "" {
		return "unreleased"
	}
	v := commit[:min(12, len(commit))]
	if set["vcs.modified"] == "true" {
		v += " with changes"
	}
	if t := set["vcs.time"]; len(t) >= 10 {
		v += ", " + t[:10]
	}
	return v
}
