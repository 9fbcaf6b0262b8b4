package main

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestTheVersionSaysWhatTheBuildKnows(t *testing.T) {
	commit := debug.BuildSetting{Key: "vcs.revision", Value: "0123456789abcdef0123456789abcdef01234567"}
	changed := debug.BuildSetting{Key: "vcs.modified", Value: "true"}
	same := debug.BuildSetting{Key: "vcs.modified", Value: "false"}
	for _, row := range []struct {
		name     string
		version  string
		settings []debug.BuildSetting
		want     string
	}{
		{"a released version", "v1.2.0", []debug.BuildSetting{commit, same}, "version v1.2.0, commit 0123456789ab"},
		{"with changes", "v1.2.1-0.20261129000000-0123456789ab+dirty", []debug.BuildSetting{commit, changed}, "version v1.2.1-0.20261129000000-0123456789ab+dirty, commit 0123456789ab with changes"},
		{"of a working tree", "(devel)", []debug.BuildSetting{commit, same}, "version unknown, commit 0123456789ab"},
		{"from a module without its commit", "v1.2.0", nil, "version v1.2.0, commit unknown"},
		{"without version control", "(devel)", nil, "version unknown, commit unknown"},
		{"without build information", "", nil, "version unknown, commit unknown"},
	} {
		info := &debug.BuildInfo{Main: debug.Module{Version: row.version}, Settings: row.settings}
		assert.Equal(t, row.want, sourceOf(info), row.name)
	}
}
