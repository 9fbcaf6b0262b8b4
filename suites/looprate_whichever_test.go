package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// Turns that come unevenly, and commands that go through a filter, leave several rates that explain the frames about as well. A
// loop is quick enough where each of them is, and is left open where one is not.
func TestALoopIsQuickEnoughWhicheverOfSeveralRatesItHas(t *testing.T) {
	const us = signal.Microsecond
	filtered := func(b *board.Settings) { b.LoopPeriod, b.Timing.LoopJitter = 3708*us, 0.05 }
	uneven := func(b *board.Settings) { b.LoopPeriod, b.Timing.LoopJitter = 8500*us, 0.2 }
	slow := func(b *board.Settings) { b.LoopPeriod, b.Timing.LoopJitter = 5050*us, 0.2 } // whose frames, every 3 ms, look like turns
	for _, row := range []struct {
		name, filter, lines, atLeast string
		change                       func(b *board.Settings)
		want                         string
	}{
		{"filter of 40 ms", "40 ms", "256", "200 Hz", filtered, record.Pass},
		{"uneven turns of 100 Hz", "", "256", "100 Hz", uneven, record.Pass},
		{"the likelier too slow", "", "256", "117.2 Hz", uneven, record.Undecided},
		{"slower turns than any, by the answers", "40 ms", "256", "200 Hz", slow, record.Undecided},
	} {
		t.Run(row.name, func(t *testing.T) {
			if row.filter != "" && row.want == record.Pass && testing.Short() {
				t.Skip("frames that come so often take long to explain")
			}
			f := bramble("from-policy", "grid")
			f.Car.Data = edited(t, f.Car.Data, "loop_rate: {at_least: 200 Hz}", "loop_rate: {at_least: "+row.atLeast+"}", "response: {at_most: 12 ms", "response: {at_most: 100 ms",
				"longest_gap: 5 ms", "longest_gap: 25 ms")
			if row.filter != "" {
				f.Car.Data = edited(t, f.Car.Data, "throttle_curve: none", "throttle_curve: none\n  smoothing: {filter: "+row.filter+"}")
			}
			f.Bench.Data = edited(t, f.Bench.Data, "lines: 256", "lines: "+row.lines)
			s := load(t, f)
			b, err := s.OfPolicy()
			require.NoError(t, err)
			row.change(&b)
			s.WithBoard("of several rates", b)
			check := loopRateOf(t, s, "loop rate at speed")
			assert.Equal(t, row.want, check.Verdict, "%s: %s", check.Quantity, check.Why)
			t.Log(check.Quantity, check.Why)
		})
	}
}
