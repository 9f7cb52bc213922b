package main

import (
	"runtime/debug"
	"testing"
)

func TestVersionNamesTheRevision(t *testing.T) {
	revision := debug.BuildSetting{Key: "vcs.revision", Value: "abc1234def5678901234567890123456789012ab"}
	for want, settings := range map[string][]debug.BuildSetting{
		release: nil,
		release + "+abc1234": {
			{Key: "-trimpath", Value: "true"}, revision, {Key: "vcs.modified", Value: "false"},
		},
		release + "+abc1234" + ".changed": {revision, {Key: "vcs.modified", Value: "true"}},
	} {
		if got := versionOf(settings); got != want {
			t.Errorf("%v: %s, want %s", settings, got, want)
		}
	}
}
