package main

import "runtime/debug"

// release is the version at the top of CHANGELOG.md.
const release = "0.1.0"

// revision is set by the Makefile, since the go command does not always stamp it, for example in a
// second worktree of git.
var revision string

// version returns the release and, if the build knows it, the revision that it was built from:
// "0.1.0+abc1234", with ".changed" after it if the source had uncommitted changes.
func version() string {
	if revision != "" {
		return release + "+" + revision
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return release
	}
	return versionOf(info.Settings)
}

func versionOf(settings []debug.BuildSetting) string {
	revision, changed := "", ""
	for _, s := range settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ".changed"
		}
	}
	if len(revision) < 7 {
		return release
	}
	return release + "+" + revision[:7] + changed
}
