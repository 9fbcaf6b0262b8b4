package record

import (
	"fmt"
	"strings"
)

// Find returns the place of the first played case whose suite and title
// contain pattern; one that is no pass goes before one that is. A case in which the run broke
// off counts as played where its wires are kept.
func (r *Record) Find(pattern string) (suite, index int, err error) {
	suite = -1
	found := ""
	for i := range r.Result.Suites {
		s := &r.Result.Suites[i]
		for j := range s.Cases {
			k := &s.Cases[j]
			name := strings.ToLower(s.Name + ": " + k.Title())
			if k.Trace == "" && !HasWires(r.Folder, i, j) || !strings.Contains(name, strings.ToLower(pattern)) {
				continue
			}
			if suite < 0 || found == Pass && k.Verdict != Pass {
				suite, index, found = i, j, k.Verdict
			}
		}
	}
	if suite < 0 {
		return 0, 0, fmt.Errorf("no played case of the record contains %q in its suite and name; hilrig list shows them", pattern)
	}
	return suite, index, nil
}

// Title is a case's name with its variant.
func (c *Case) Title() string {
	if c.Variant == "" {
		return c.Name
	}
	return c.Name + " (" + c.Variant + ")"
}
