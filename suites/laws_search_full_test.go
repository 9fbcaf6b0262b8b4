//go:build full

package suites_test

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/search"
	"hilrig/suites/standard"
)

var searchDrives = flag.Int("search-drives", 48, "of how many drives a search on each drawn law is; some 600 are what two processors play in half a minute")

// A board that keeps a drawn law is right in every drawn drive too, whatever its policy declares or leaves out.
func TestASearchFindsNothingInBoardsThatKeepADrawnLaw(t *testing.T) {
	drives, judged := 0, 0
	for _, n := range lawsToPlay(t) {
		d := drawLaw(n)
		f := bramble("", standard.Life)
		f.Car, f.Bench, f.Seed = d.car, d.bench, n
		s := load(t, f)
		s.WithBoard("drawn", boardOf(t, n, &d))
		r, err := search.Run(t.Context(), s, search.Options{Drives: *searchDrives, Tries: 60})
		require.NoError(t, err, "law %d", n)
		for i := range r.Found {
			t.Errorf("law %d: %s: %s\n%s\nits policy:\n%s", n, r.Found[i].Check, r.Found[i].Why, r.Found[i].Suite, policyIn(&d.car))
		}
		assert.Empty(t, r.NotAgain, "law %d", n)
		drives, judged = drives+r.Drives, judged+r.Judged
		t.Logf("law %d: %d drives, %d judged", n, r.Drives, r.Judged)
	}
	assert.NotZero(t, judged)
	t.Logf("%d drives, %d judged", drives, judged)
}
