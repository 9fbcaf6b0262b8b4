//go:build full

package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// worstOf plays those cases of a standard suite to a changed Bramble whose name holds some words, and returns the worst verdict of
// the checks whose name holds some, and what the first of them measured. One that fails names the key.
func worstOf(t *testing.T, suite, cases, name, key string, change func(b *board.Settings)) (worst string, measured float64) {
	t.Helper()
	b := board.Bramble()
	change(&b)
	s := load(t, bramble("", suite))
	s.WithBoard("changed", b)
	r, _ := play(t, s, suites.Options{Only: cases})
	worst = record.Pass
	asked := 0
	for _, suite := range r.Suites {
		for _, c := range suite.Cases {
			for _, x := range c.Checks {
				if x.Verdict == record.NotAsked || !strings.Contains(x.Name, name) {
					continue
				}
				if x.Verdict == record.Fail {
					assert.Contains(t, x.Keys, key, "%+v", x)
				}
				if asked++; asked == 1 && x.Estimate != nil {
					measured = *x.Estimate
				}
				if x.Verdict == record.Fail || x.Verdict == record.Undecided && worst == record.Pass {
					worst = x.Verdict
				}
			}
		}
	}
	assert.NotZero(t, asked, "%s in %s", name, cases)
	return worst, measured
}

// A board that is off by a little more than its policy allows is found by the suites as they are played, and one that is off by as much less
// passes: by 1 % of the size of the shift and of the demand, by 0.5 % of full range at the cap, by half a percent of a motor, by 0.3 % of the
// loop rate, by a tenth of the response and by a twentieth of a failsafe's time.
func TestTheSuitesResolveLittle(t *testing.T) {
	slow := func(late signal.Time) func(b *board.Settings) {
		return func(b *board.Settings) { b.Shaping.Delay = [4]signal.Time{late, late, late, late} }
	}
	times := func(rate float64) func(b *board.Settings) {
		return func(b *board.Settings) {
			b.LoopPeriod, b.OutputPeriod = signal.FromSeconds(1/rate), 3300*signal.Microsecond
		}
	}
	none := func(*board.Settings) {}
	_, usual := worstOf(t, "timing", "response to the throttle", "response", "response", none) // ms
	_, idle := worstOf(t, "losses", "throttle lost", "idle within", "throttle_lost", none)     // ms
	until := func(at float64) signal.Time { return signal.FromSeconds((at - usual) / 1000) }
	for _, x := range []struct {
		what, suite, cases, name, key string
		beyond, inside                func(b *board.Settings)
	}{
		{"size of the shift", "limits", "shift in proportion to the error", "as steep as declared", "shift_at",
			func(b *board.Settings) { b.ShiftIs *= 1.11 }, func(b *board.Settings) { b.ShiftIs *= 1.09 }},
		{"demand", "demand", "demand by sweep", "demand: yaw rate", "demand",
			func(b *board.Settings) { b.Wheelbase /= 1.06; b.UndersteerGradient /= 1.06 }, func(b *board.Settings) { b.Wheelbase /= 1.04; b.UndersteerGradient /= 1.04 }},
		{"cap", "split", "cap holds", "at most", "cap", func(b *board.Settings) { b.Cap += 0.005 }, func(b *board.Settings) { b.Cap -= 0.005 }},
		{"a motor", "limits", "the throttle as it is", "motors equal", "motors_equal_within",
			func(b *board.Settings) { b.Trim[2] = -0.015 / 0.8 }, func(b *board.Settings) { b.Trim[2] = -0.005 / 0.8 }},
		{"loop rate", "timing", "loop rate", "loop rate", "loop_rate", times(200 * 0.997), times(200 * 1.003)},
		{"response", "timing", "response to the throttle", "response", "response", slow(until(12 * 1.1)), slow(until(12 * 0.9))},
		{"failsafe", "losses", "throttle lost", "idle within", "throttle_lost",
			func(b *board.Settings) { b.ThrottleTimeout += signal.FromSeconds((150*1.05 - idle) / 1000) },
			func(b *board.Settings) { b.ThrottleTimeout += signal.FromSeconds((150*0.95 - idle) / 1000) }},
	} {
		t.Run(x.what, func(t *testing.T) {
			beyond, at := worstOf(t, x.suite, x.cases, x.name, x.key, x.beyond)
			inside, within := worstOf(t, x.suite, x.cases, x.name, x.key, x.inside)
			t.Logf("beyond: %s, %.4g; inside: %s, %.4g", beyond, at, inside, within)
			assert.Equal(t, record.Fail, beyond)
			assert.Equal(t, record.Pass, inside)
		})
	}
}
