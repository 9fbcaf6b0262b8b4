package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
)

// TestCasesWhoseWiresAreMissingAreSkipped plays the losses on a bench whose
// yaw frames have no checksum.
func TestCasesWhoseWiresAreMissingAreSkipped(t *testing.T) {
	f := bramble("", "losses")
	f.Bench.Data = []byte(strings.Replace(string(f.Bench.Data), "          - {check: crc8, poly: 0x07, init: 0, from: 2}\n", "", 1))
	s := load(t, f)
	// The board waits for a checksum that does not come, which is not at issue here.
	s.WithBoard("deaf", board.Bramble())
	o := suites.Options{Only: "checksum"}
	assert.Zero(t, s.Planned(o))
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			if strings.Contains(suite.Cases[i].Name, "checksum") {
				assert.Equal(t, "no checksum on yaw_serial", suite.Cases[i].Missing)
			}
		}
	}
	r, _ := play(t, s, suites.Options{Only: "yaw"}) // others too, which can be played
	skipped := 0
	for _, c := range r.Suites[0].Cases {
		if c.Verdict == record.Skipped && c.Why != "left out by --only" {
			skipped++
			assert.Equal(t, "the bench has no checksum on yaw_serial", c.Why)
		}
	}
	assert.Equal(t, 2, skipped)
}
