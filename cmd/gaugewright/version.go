package main

import "runtime/debug"

// release is the version that CHANGELOG.md describes at its top.
const release = "0.1.0"

// revision is set by the Makefile, also where the go command does not stamp it, as in a second
// worktree of git.
var revision string

// version returns the release and, where the build knows it, the revision it was built from:
// "0.1.0+abc1234", with ".changed" behind it if the source had changes that are not committed.
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
