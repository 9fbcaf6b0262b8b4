//go:build full

package suites_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/parts"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// The standard set in parts comes to the digest of the whole.
func TestPartsOfTheStandardSetComeToItsDigest(t *testing.T) {
	names := append([]string{standard.Life}, standard.Names()...)
	for _, board := range []string{"built-in", "built-in:yaw_sign"} {
		whole, _ := play(t, load(t, bramble(board, names...)), suites.Options{Workers: 2})
		for _, of := range []int{1, 2, 3, 8} {
			home := t.TempDir()
			for k := 1; k <= of; k++ {
				s := load(t, bramble(board, names...))
				require.NoError(t, s.Split(suites.Options{}, parts.Shard{Number: k, Of: of}))
				w, err := record.Begin(home, s.Plan(), record.Host{}, s.Inputs(), time.Now())
				require.NoError(t, err)
				r, driving := play(t, s, suites.Options{Workers: 2})
				require.NoError(t, w.Finish(r, 0, driving.Seconds()))
				t.Logf("%s, part %d of %d: %.0f s driven", board, k, of, driving.Seconds())
			}
			parts, err := record.PartsIn([]string{home})
			require.NoError(t, err)
			joined, err := record.Join(parts)
			require.NoError(t, err)
			assert.Equal(t, whole.Digest, joined.Result.Digest, "%s, %d parts", board, of)
			assert.Equal(t, string(whole.JSON()), string(joined.Result.JSON()))
		}
	}
}
