package suites_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// withChanged has the setup play to a board that keeps its policy but for a change.
func withChanged(t *testing.T, s *suites.Setup, name string, change func(b *board.Settings)) {
	t.Helper()
	b, err := s.OfPolicy()
	require.NoError(t, err)
	change(&b)
	s.WithBoard(name, b)
}

// Of motors that share a shift by shares that go with something none surely moves, and together they do: whichever of them takes how
// much, and whatever is declared of its size. A board that leaves one side alone is not right.
func TestMotorsOfVaryingSharesMoveTogether(t *testing.T) {
	const size = "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %}"
	for declared, line := range map[string]string{
		"proportional": size,
		"saturating":   strings.Replace(size, "within: 10 %}", "within: 10 %, grows: saturating, most: 16 %}", 1),
		"gathering":    strings.Replace(size, "within: 10 %}", "within: 10 %, grows: integrating, most: 16 %}", 1),
		"no size":      "",
	} {
		f := bramble("from-policy", "split")
		f.Car.Data = edited(t, f.Car.Data,
			"  "+size+"\n", "  "+line+"\n",
			"understeer: {raise: outside_rear, lower: inside_front}", "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], shares: vary}",
			"oversteer: {raise: outside_front, lower: outside_rear}", "oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], shares: vary}",
		)
		s := load(t, f)
		for _, row := range []struct {
			name   string
			change func(b *board.Settings)
			well   bool
		}{
			{"shared by the speed", func(*board.Settings) {}, true},
			{"all by one motor", func(b *board.Settings) {
				b.Understeer.Varies, b.Understeer.Front, b.Understeer.Rear = false, 0.001, 1.999
			}, true},
			{"too weak", func(b *board.Settings) { b.ShiftIs *= 0.65 }, false},
			{"none raised", func(b *board.Settings) { b.Understeer.Raise = nil }, false},
			{"none lowered", func(b *board.Settings) { b.Understeer.Lower = nil }, false},
			{"raised and lowered by each other", func(b *board.Settings) {
				b.Understeer.Raise, b.Understeer.Lower = []board.Place{"outside_front", "inside_rear"}, []board.Place{"inside_front", "outside_rear"}
			}, false},
		} {
			t.Run(fmt.Sprintf("%s, %s", declared, row.name), func(t *testing.T) {
				withChanged(t, s, row.name, row.change)
				r, _ := play(t, s, suites.Options{Only: "understeer turns torque in"})
				together := 0
				for _, c := range r.Suites[len(r.Suites)-1].Cases {
					for _, x := range c.Checks {
						if strings.Contains(x.Name, " together") {
							together++
						}
					}
				}
				assert.NotZero(t, together)
				if row.well || row.name == "too weak" && declared != "proportional" { // of which no size is told
					assert.Empty(t, troubles(r))
				} else {
					assert.Contains(t, strings.Join(troubles(r), "\n"), " together")
				}
			})
		}
	}
}

// By a policy that has the board ignore a lost encoder, one that stops for it is not right, even where the law leaves each motor a shift
// either way by what the board may take for the speed.
func TestABoardThatStopsForAnEncoderThatItIsToIgnore(t *testing.T) {
	f := bramble("from-policy", "losses")
	f.Car.Data = edited(t, f.Car.Data,
		"  shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %}\n", "",
		"understeer: {raise: outside_rear, lower: inside_front}", "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], shares: vary}",
		"oversteer: {raise: outside_front, lower: outside_rear}", "oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], shares: vary}",
		"encoder_lost: {no_shift_within: 100 ms}", "encoder_lost: {ignored: yes}",
		"speed_from: mean", "speed_from: slowest",
	)
	s := load(t, f)
	for name, row := range map[string]struct {
		then board.Then
		well bool
	}{"ignores it": {board.ThenIgnored, true}, "shifts nothing": {board.ThenNoShift, true}, "stops": {board.ThenIdle, false}} {
		t.Run(name, func(t *testing.T) {
			b, err := s.OfPolicy()
			require.NoError(t, err)
			b.Endings[board.EncoderLost].Then = row.then
			b.EncoderTimeout, b.EncoderOthers = 50*signal.Millisecond, 1
			s.WithBoard(name, b)
			r, _ := play(t, s, suites.Options{Only: "encoder of the inside front wheel lost"})
			if row.well {
				assert.Empty(t, troubles(r))
				assert.NotZero(t, r.Counts.Pass)
			} else {
				assert.Contains(t, strings.Join(troubles(r), "\n"), "all motors were taken back")
			}
		})
	}
}
