package main

import (
	"runtime/debug"
	"testing"
)

func TestCommit(t *testing.T) {
	set := func(kv ...string) *debug.BuildInfo {
		b := &debug.BuildInfo{}
		for i := 0; i < len(kv); i += 2 {
			b.Settings = append(b.Settings, debug.BuildSetting{Key: kv[i], Value: kv[i+1]})
		}
		return b
	}
	const revision = "0123456789abcdef0123456789abcdef01234567"
	installed := &debug.BuildInfo{}
	installed.Main.Version = "v0.1.0"
	for want, info := range map[string]*debug.BuildInfo{
		"commit not known": nil,
		"commit not known: built outside a clone of its source": {},
		"module version v0.1.0":                                 installed,
		"commit 0123456789ab of 2026-08-01 16:05 UTC": set("vcs.revision", revision,
			"vcs.time", "2026-08-01T18:05:09+02:00", "vcs.modified", "false"),
		"commit 0123456789ab of 2026-08-01 16:05 UTC, with changes that are not committed": set("vcs.revision", revision,
			"vcs.time", "2026-08-01T16:05:09Z", "vcs.modified", "true"),
	} {
		if got := commit(info); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
