package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// Of a shift that gathers with time no size is asked, and that its motors move by their shares of it is: front ones by 40 % of what
// rear ones do while the car turns too little, the other way round while it turns too much, within the tolerance of the
// declared shift.
func TestMotorsOfBothAxlesMoveByTheirShares(t *testing.T) {
	f := bramble("from-policy", "split")
	f.Car.Data = edited(t, f.Car.Data,
		"is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: integrating, most: 16 %}",
		"understeer: {raise: outside_rear, lower: inside_front}", "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], front: 40 %}",
		"oversteer: {raise: outside_front, lower: outside_rear}", "oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], rear: 40 %}",
	)
	s := load(t, f)
	for _, row := range []struct {
		name   string
		change func(b *board.Settings)
		well   bool
	}{
		{"as declared", func(*board.Settings) {}, true},
		{"within the tolerance", func(b *board.Settings) {
			b.Understeer.Front, b.Understeer.Rear, b.Oversteer.Front, b.Oversteer.Rear = 0.43, 0.93, 0.93, 0.43
		}, true},
		{"slower and farther", func(b *board.Settings) { b.GrowsIn *= 2 }, true},
		{"exchanged", func(b *board.Settings) {
			b.Understeer.Front, b.Understeer.Rear, b.Oversteer.Front, b.Oversteer.Rear = 1, 0.4, 0.4, 1
		}, false},
		{"alike", func(b *board.Settings) { b.Understeer.Front, b.Oversteer.Rear = 1, 1 }, false},
		{"half", func(b *board.Settings) { b.Understeer.Front, b.Oversteer.Rear = 0.2, 0.2 }, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			withChanged(t, s, row.name, row.change)
			for _, only := range []string{"understeer turns torque in", "oversteer turns torque out"} {
				r, _ := play(t, s, suites.Options{Only: only})
				asked, cases := 0, 0
				for _, c := range r.Suites[len(r.Suites)-1].Cases {
					if c.Name == only {
						cases++
					}
					for _, x := range c.Checks {
						if strings.HasSuffix(x.Name, " by their shares") {
							asked++
						}
					}
				}
				assert.Positive(t, cases)
				assert.Equal(t, 2*cases, asked, only)
				if row.well {
					assert.Empty(t, troubles(r), only)
				} else {
					assert.Contains(t, strings.Join(troubles(r), "\n"), " by their shares", only)
				}
			}
		})
	}
}

// A motor that takes a tenth of a shift that gathers need not have come to a clear one of its own when the whole shift has.
func TestASmallShareOfAShiftThatGathersNeedNotBeThere(t *testing.T) {
	f := bramble("from-policy", "split")
	f.Car.Data = edited(t, f.Car.Data,
		"is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: integrating, most: 16 %}",
		"understeer: {raise: outside_rear, lower: inside_front}", "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], front: 10 %}",
	)
	s := load(t, f)
	withChanged(t, s, "slow", func(b *board.Settings) { b.GrowsIn = 4 * signal.Second })
	r, _ := play(t, s, suites.Options{Only: "understeer turns torque in"})
	assert.Empty(t, troubles(r))
	assert.NotZero(t, r.Counts.Pass)
}

// Backwards, as if the car drove the other end first, the shares are those of the other end as well; and where they go with something,
// one motor of a side may take the whole of it there as forwards.
func TestBackwardsTheSharesGoEndForEnd(t *testing.T) {
	const fixed, other = "lower: [inside_front, inside_rear], front: 40 %}", "lower: [outside_front, outside_rear], rear: 40 %}"
	for _, row := range []struct {
		name        string
		under, over string
		change      func(b *board.Settings)
		well        bool
	}{
		{"as declared", fixed, other, func(*board.Settings) {}, true},
		{"as forwards", fixed, other, func(b *board.Settings) { b.Reverse = board.ReverseAsForward }, false},
		{"shares that vary", strings.Replace(fixed, "front: 40 %", "shares: vary", 1), strings.Replace(other, "rear: 40 %", "shares: vary", 1), func(b *board.Settings) {
			b.Understeer.Varies, b.Understeer.Front, b.Understeer.Rear = false, 0.001, 1.999
			b.Oversteer.Varies, b.Oversteer.Front, b.Oversteer.Rear = false, 1.999, 0.001
		}, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			f := bramble("from-policy", "split")
			f.Car.Data = edited(t, f.Car.Data,
				"is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: integrating, most: 16 %}",
				"understeer: {raise: outside_rear, lower: inside_front}", "understeer: {raise: [outside_front, outside_rear], "+row.under,
				"oversteer: {raise: outside_front, lower: outside_rear}", "oversteer: {raise: [inside_front, inside_rear], "+row.over,
				"reverse: no_shift", "reverse: mirrored",
			)
			s := load(t, f)
			withChanged(t, s, row.name, row.change)
			r, _ := play(t, s, suites.Options{Only: "no shift in reverse"})
			assert.NotZero(t, r.Counts.Pass)
			if row.well {
				assert.Empty(t, troubles(r))
			} else {
				assert.Contains(t, strings.Join(troubles(r), "\n"), " by their shares")
			}
		})
	}
}

// A shift that still grows while the motors are read has no mean that another step would have again, and all its commands lie where
// A shift that still grows as a value that is none comes has a mean that is known no better than it grew, and what the value did is
