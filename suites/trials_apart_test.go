package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// Before a change a motor's frames tell how it stands. Where they come so seldom that those reach back over the change before,
// trials stand farther apart: from the beginning where the bench says how often they come, and else once that was seen.
func TestTrialsStandApartForMotorFramesThatComeSeldom(t *testing.T) {
	const seldom = 20 * signal.Millisecond
	for rate, again := range map[string]bool{"\n  rate: 50 Hz": false, "": true} {
		f := bramble("", "timing")
		f.Car.Data = []byte(withLines(string(f.Car.Data), "response: {at_most: 60 ms}"))
		f.Bench.Data = []byte(strings.Replace(string(f.Bench.Data), "  with_neutral: no", "  with_neutral: no"+rate, 1))
		s := load(t, f)
		b := board.Bramble()
		b.OutputPeriod = seldom
		s.WithBoard("seldom", b)
		r, driving := play(t, s, suites.Options{Only: "response to the throttle"})
		n := 0
		for _, suite := range r.Suites {
			for _, c := range suite.Cases {
				for _, k := range c.Checks {
					if k.Name == "response" {
						n++
						assert.Equal(t, "pass", k.Verdict, "%s: %s", rate, k.Why)
					}
				}
			}
		}
		assert.Equal(t, 1, n)
		t.Log(rate, driving)
		assert.Equal(t, again, driving > 60*signal.Second, "%v of driving", driving)
	}
}
