// Package standard holds the standard suites. They refer to the car's policy
// and hard-code nothing of it: what a policy leaves out is not asked.
//
// # Units and signs
//
// The suites write their units out; axes are those of ISO 8855.
package standard

import (
	"bytes"
	"embed"
	"path"
	"slices"
	"strings"
)

//go:embed *.yaml
var files embed.FS

// names are in the order in which the suites are played: cheap finders first.
var names = []string{"split", "demand", "limits", "grid", "losses", "timing", "replay", "drive"}

// Life is the suite of the signs of life, which every run begins with: it is none of Names.
const Life = "life"

// Soak is a suite that is played where it is named alone, for it takes eighty minutes of driving: it is none of Names.
const Soak = "soak"

// Names lists the standard suites in the order in which they are played, those
// first that find much in little time. The slice is the caller's.
func Names() []string { return slices.Clone(names) }

// Source returns the text of the standard suite called name, and the path that
// it goes by in messages and records; ok is false where there is none.
func Source(name string) (path string, data []byte, ok bool) {
	data, err := files.ReadFile(name + ".yaml")
	if err != nil {
		return "", nil, false
	}
	return "standard/" + name + ".yaml", data, true
}

// Is says whether a suite with this path and text is a standard one.
func Is(file string, data []byte) bool {
	known, text, ok := Source(strings.TrimSuffix(path.Base(file), ".yaml"))
	return ok && known == file && bytes.Equal(text, data)
}
