package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// boardRow is a board of a policy with something changed, and what fails with it; nothing does with one that keeps the policy.
type boardRow struct {
	name   string
	change func(b *board.Settings)
	fails  string
}

// playRows plays cases of a setup to the board of its policy, changed as each row has it.
func playRows(t *testing.T, s *suites.Setup, only string, rows []boardRow) {
	t.Helper()
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			b, err := s.OfPolicy()
			require.NoError(t, err)
			row.change(&b)
			s.WithBoard(row.name, b)
			r, _ := play(t, s, suites.Options{Only: only})
			require.NotZero(t, r.Counts.Pass+r.Counts.Fail, "the case is asked")
			if row.fails == "" {
				assert.Empty(t, troubles(r))
				return
			}
			assert.Contains(t, strings.Join(troubles(r), "\n"), "fail: "+row.fails)
		})
	}
}

// A board that arms at an idle throttle and is to rest besides is powered up with the throttle at idle, so that nothing but the rest
// keeps it off once the throttle is up.
func TestABoardThatArmsIsAskedWhetherItRests(t *testing.T) {
	f := bramble("from-policy", "losses")
	f.Car.Data = edited(t, f.Car.Data, "  start: idle\n", "  start: idle\n  arms: throttle_at_idle\n  start_at_rest: 1.2 s\n")
	const ms = signal.Millisecond
	resting := func(rest signal.Time) func(b *board.Settings) {
		return func(b *board.Settings) { b.AtRestFor = rest }
	}
	const fails = "losses, the motors stay off until the car has rested (): start at rest: no drive before 1.2 s"
	playRows(t, load(t, f), "the motors stay off until the car has rested", []boardRow{
		{"as declared", func(*board.Settings) {}, ""},
		{"by a clock that is 2 % fast", resting(1176 * ms), ""},
		{"longer", resting(2000 * ms), ""},
		{"drives as soon as it is at idle", resting(0), fails},
		{"less than half as long", resting(450 * ms), fails},
		{"three quarters as long", resting(900 * ms), fails},
	})
}

// Nearly the whole of a short rest is played, too, where what smooths the commands takes longer than it.
func TestAShortRestIsAskedOfABoardThatArms(t *testing.T) {
	f := bramble("from-policy", "losses")
	f.Car.Data = edited(t, f.Car.Data,
		"  start: idle\n", "  start: idle\n  arms: throttle_at_idle\n  start_at_rest: 500 ms\n  smoothing: {filter: 100 ms}\n",
		"  response: {at_most: 12 ms, of: 95 %}", "  response: {at_most: 400 ms, of: 95 %}")
	playRows(t, load(t, f), "the motors stay off until the car has rested", []boardRow{
		{"as declared", func(*board.Settings) {}, ""},
		{"a fifth as long", func(b *board.Settings) { b.AtRestFor = 100 * signal.Millisecond }, "losses, the motors stay off until the car has rested"},
	})
}

// braking is the demo car whose throttle and motors go both ways, with no shift while it brakes.
func braking(t *testing.T, suite string) *suites.Setup {
	t.Helper()
	return otherWord(t, "braking: no_shift", bothWays, suite)
}

// Firmware that takes a throttle for braking from 20 % below idle on only shifts while it brakes lightly; one that has a dead zone
// about idle keeps the policy.
func TestALightBrakeIsABrake(t *testing.T) {
	from := func(share float64) func(b *board.Settings) {
		return func(b *board.Settings) { b.BrakesFrom = share }
	}
	playRows(t, braking(t, "split"), "no shift while braking", []boardRow{
		{"at once", from(0), ""},
		{"a dead zone of 10 %", from(0.1), ""},
		{"from 20 %", from(0.2), "torque split, no shift while braking lightly"},
		{"never", func(b *board.Settings) { b.NoShiftInBraking = false }, "torque split, no shift while braking (turn left"},
	})
}

// After it braked the shift comes back, at the latest a while after the throttle was let go.
func TestTheShiftComesBackAfterBraking(t *testing.T) {
	after := func(time signal.Time) func(b *board.Settings) {
		return func(b *board.Settings) { b.AfterBraking = time }
	}
	playRows(t, braking(t, "limits"), "shifts again after braking", []boardRow{
		{"at once", after(0), ""},
		{"after half a second", after(500 * signal.Millisecond), ""},
		{"never", after(60 * signal.Second), "limits, shifts again after braking (turn left): understeer: outside_rear raised"},
	})
}

// Between two positions of the trim the nearer one is asked for, well off the middle, where a switch with a hysteresis may take either.
func TestATrimBetweenItsPositionsIsTheNearerOne(t *testing.T) {
	edges := func(share ...float64) func(b *board.Settings) {
		return func(b *board.Settings) { b.GainEdges = share }
	}
	const fails = "torque split, trim between the positions of a switch (gain position "
	const only = "trim between the positions of a switch"
	rows := []boardRow{
		{"in the middle", func(*board.Settings) {}, ""},
		{"a hysteresis as it comes from below", edges(0.32, 0.82), ""},
		{"and from above", edges(0.18, 0.68), ""},
		{"the first early", edges(0.1, 0.75), fails + "1, off 30 %"},
		{"the first late", edges(0.4, 0.75), fails + "2, off -30 %"},
	}
	t.Run("saturating", func(t *testing.T) { // between two positions of which both shift no size is told
		playRows(t, otherWord(t, "gain_steps: [0 %, 50 %, 100 %]\n  shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: saturating, most: 30 %}", "", "split"), only, rows)
	})
	playRows(t, otherWord(t, "gain_steps: [0 %, 50 %, 100 %]", "", "split"), only, append(rows,
		boardRow{"the second early", edges(0.25, 0.6), fails + "2, off 30 %"},
		boardRow{"the second late", edges(0.25, 0.9), fails + "3, off -30 %"},
		boardRow{"as it comes", func(b *board.Settings) { b.GainSteps = nil }, fails + "2, off -30 %"},
	))
}

// Of a trim with six positions each place between two of them is played, of one that is no switch none.
func TestEachTwoPositionsOfATrimArePlayed(t *testing.T) {
	for lines, want := range map[string]int{
		"gain_steps: none": 0, "gain_steps: [0 %, 100 %]": 2, "gain_steps: [0 %, 50 %, 100 %]": 4, "gain_steps: [0 %, 20 %, 40 %, 60 %, 80 %, 100 %]": 10,
	} {
		played := 0
		s := otherWord(t, lines, "", "split")
		for i := range s.Suites[len(s.Suites)-1].Cases {
			if s.Suites[len(s.Suites)-1].Cases[i].Name == "trim between the positions of a switch" {
				played++
			}
		}
		assert.Equal(t, want, played, lines)
	}
}
