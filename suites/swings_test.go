package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// Firmware that leaves out the derivative or the feed-forward that its policy declares, or has it the wrong way round or
// ten times too large, fails in swings. Firmware with it passes, with delays, filters and steps of its commands of its own.
func TestALeadThatTheFirmwareDoesNotHaveFailsInSwings(t *testing.T) {
	const (
		ms         = signal.Millisecond
		derivative = "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, derivative_time: 20 ms}"
		fedForward = "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, steer_rate: 30 ms}"
	)
	times := func(k signal.Time) func(b *board.Settings) {
		return func(b *board.Settings) { b.DerivativeTime, b.SteerLead = k*b.DerivativeTime, k*b.SteerLead }
	}
	for _, row := range []struct {
		name, policy string
		change       func(b *board.Settings)
		want         string
	}{
		{"derivative", derivative, func(b *board.Settings) { b.Shaping.YawLag, b.Step = 10*ms, 0.005 }, record.Pass},
		{"no derivative", derivative, times(0), record.Fail},
		{"derivative the wrong way round", derivative, times(-1), record.Fail},
		{"ten times the derivative", derivative, times(10), record.Fail},
		{"fed forward", fedForward, func(b *board.Settings) { b.Step = 0.005 }, record.Pass},
		{"not fed forward", fedForward, times(0), record.Fail},
		{"fed forward the wrong way round", fedForward, times(-1), record.Fail},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := otherWord(t, row.policy, "", "demand")
			b, err := s.OfPolicy()
			require.NoError(t, err)
			row.change(&b)
			s.WithBoard("in swings", b)
			result, _ := play(t, s, suites.Options{Only: "in swings"})
			n := 0
			for _, c := range result.Suites[0].Cases {
				for _, check := range c.Checks {
					if check.Quantity != "" && (check.Name == "derivative: the commands swing as declared" || check.Name == "steer rate: the commands swing as declared") {
						n++
						assert.Equal(t, row.want, check.Verdict, "%s: %s in %s to %s, at most %s: %s", c.Variant, shown(check.Estimate), shown(check.Low), shown(check.High), shown(check.LimitHigh), check.Why)
					}
				}
			}
			assert.Equal(t, 2, n, "both turns are asked")
		})
	}
}
