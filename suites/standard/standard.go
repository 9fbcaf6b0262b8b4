// Package standard holds the standard suites. They refer to the car's policy
// and hard-code nothing of it: what a policy leaves out is not asked.
//
// # Units and signs
//
// The suites write their units out; axes are those of ISO 8855.
package standard

import (
	"embed"
	"strings"
)

//go:embed *.yaml
var files embed.FS

// Names lists the standard suites in order of name.
func Names() []string {
	entries, err := files.ReadDir(".")
	if err != nil {
		return nil // the folder is part of the program
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".yaml"))
	}
	return names
}

// Source returns the text of the standard suite called name, and the path that
// it goes by in messages and records; ok is false where there is none.
func Source(name string) (path string, data []byte, ok bool) {
	data, err := files.ReadFile(name + ".yaml")
	if err != nil {
		return "", nil, false
	}
	return "standard/" + name + ".yaml", data, true
}
