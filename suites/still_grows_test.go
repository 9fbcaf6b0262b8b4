package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// A shift with a bound is held for long at a large yaw error, so that one that is bounded elsewhere or not at all is told.
func TestAShiftKeepsItsBound(t *testing.T) {
	for _, grows := range []string{"integrating", "saturating"} {
		f := bramble("from-policy", "limits")
		f.Car.Data = edited(t, f.Car.Data, "is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: "+grows+", most: 12 %}")
		s := load(t, f)
		for _, row := range []struct {
			name string
			most float64
			well bool
		}{{"at its bound", 0.12, true}, {"below", 0.08, true}, {"beyond", 0.3, false}, {"none", 0.9, false}} {
			t.Run(grows+", "+row.name, func(t *testing.T) {
				withChanged(t, s, row.name, func(b *board.Settings) { b.Most = row.most })
				r, _ := play(t, s, suites.Options{Only: "keeps its bound"})
				assert.Greater(t, r.Counts.Pass, 30)
				assert.Equal(t, row.well, len(troubles(r)) == 0, "%v", troubles(r))
			})
		}
	}
}

// the policy has them.
func TestAShiftThatStillGrowsAtALimit(t *testing.T) {
	f := bramble("from-policy", "limits")
	f.Car.Data = edited(t, f.Car.Data,
		"is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: integrating, most: 40 %}",
	)
	s := load(t, f)
	for grows, in := range map[string]signal.Time{"fast": 300 * signal.Millisecond, "slowly": 1500 * signal.Millisecond, "very slowly": 4 * signal.Second} {
		t.Run(grows, func(t *testing.T) {
			withChanged(t, s, grows, func(b *board.Settings) { b.GrowsIn = in })
			r, _ := play(t, s, suites.Options{Only: "a motor at its upper limit"})
			assert.Empty(t, troubles(r))
			assert.Equal(t, 24, r.Counts.Pass)
		})
	}
}

// told by where the motors had been.
func TestASpikeWhileAShiftStillGrows(t *testing.T) {
	f := bramble("from-policy", "losses")
	f.Car.Data = edited(t, f.Car.Data, "is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: integrating, most: 40 %}")
	s := load(t, f)
	withChanged(t, s, "very slowly", func(b *board.Settings) { b.GrowsIn = 4 * signal.Second })
	for _, only := range []string{"a spike, one frame", "pulse far too"} {
		r, _ := play(t, s, suites.Options{Only: only})
		assert.Empty(t, troubles(r), only)
		assert.Greater(t, r.Counts.Pass, 15, only)
	}
}
