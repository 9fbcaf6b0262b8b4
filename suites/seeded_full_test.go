//go:build full

package suites_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// TestEverySeededFaultIsFound plays the standard suites to each seeded fault and
// prints which checks find it.
func TestEverySeededFaultIsFound(t *testing.T) {
	var table strings.Builder
	for _, f := range board.Faults() {
		var names []string // the standard set
		if board.ShowsAfter(f.Name) > 0 {
			names = []string{standard.Soak}
		}
		r, _ := play(t, load(t, bramble("built-in:"+f.Name, names...)), suites.Options{})
		assert.Equal(t, record.NoGo, r.Outcome, f.Name)
		fmt.Fprintf(&table, "\n%-22s %-20s", f.Name, f.Key)
		for _, s := range r.Suites {
			if by := finders(&s); len(by) > 0 {
				fmt.Fprintf(&table, " %s (%s)", s.Name, strings.Join(by, ", "))
			}
		}
	}
	t.Logf("fault, its key, and the suites with the policy's words that find it:%s", table.String())
}

// finders lists the first words of the checks that failed, up to the colon.
func finders(s *record.Suite) []string {
	var found []string
	for _, c := range s.Cases {
		for _, k := range c.Checks {
			word, _, _ := strings.Cut(k.Name, ":")
			if k.Verdict == record.Fail && !slices.Contains(found, word) {
				found = append(found, word)
			}
		}
	}
	return found
}
