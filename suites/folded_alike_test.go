package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// What is folded is judged as what is kept as it is: every check of the standard suites says the
// same to the last digit.
func TestFoldedCasesAreJudgedAlike(t *testing.T) {
	judged := func(foldAfter signal.Time, names ...string) *record.Result {
		s := load(t, bramble("", names...))
		s.FoldAfter(foldAfter)
		r, _ := play(t, s, suites.Options{})
		return r
	}
	var plain, folded *record.Result
	if testing.Short() {
		plain, folded = judged(0, "demand", "replay"), judged(1, "demand", "replay")
	} else {
		names := foldedSuites
		if names == nil {
			names = standard.Names()
		}
		plain, folded = judged(0, names...), judged(1, names...)
	}
	for i := range plain.Suites {
		for j := range plain.Suites[i].Cases {
			a, b := &plain.Suites[i].Cases[j], &folded.Suites[i].Cases[j]
			assert.Equal(t, a.Checks, b.Checks, "%s: %s", plain.Suites[i].Name, a.Title())
			assert.Equal(t, a.LengthNS, b.LengthNS)
			if a.Trace != "" {
				assert.NotEqual(t, a.Trace, b.Trace, "it was folded")
			}
		}
	}
}
