package stimulus_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus"
)

const ms = signal.Millisecond

func TestShapes(t *testing.T) {
	for _, row := range []struct {
		name  string
		shape stimulus.Shape
		at    signal.Time
		want  float64
	}{
		{"hold", stimulus.Hold(3), 7 * ms, 3},
		{"step, before", stimulus.Step{Before: 1, After: 2, When: 5 * ms}, 5*ms - 1, 1},
		{"step, after", stimulus.Step{Before: 1, After: 2, When: 5 * ms}, 5 * ms, 2},
		{"ramp, before", stimulus.Ramp{From: 1, To: 3, Over: 10 * ms}, -ms, 1},
		{"ramp, beginning", stimulus.Ramp{From: 1, To: 3, Over: 10 * ms}, 0, 1},
		{"ramp, a quarter", stimulus.Ramp{From: 1, To: 3, Over: 10 * ms}, 2500 * signal.Microsecond, 1.5},
		{"ramp, end", stimulus.Ramp{From: 1, To: 3, Over: 10 * ms}, 10 * ms, 3},
		{"ramp, after", stimulus.Ramp{From: 1, To: 3, Over: 10 * ms}, 20 * ms, 3},
		{"ramp without time", stimulus.Ramp{From: 1, To: 3}, 0, 3},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.InDelta(t, row.want, row.shape.At(row.at), 1e-15)
		})
	}
}

func TestTrack(t *testing.T) {
	var track stimulus.Track
	assert.Zero(t, track.At(5), "the zero track")
	track.Hold(10*ms, 1)
	track.Add(20*ms, stimulus.Step{Before: 2, After: 3, When: 5 * ms})
	track.RampTo(40*ms, 20*ms, 7)
	track.Hold(100*ms, -1)
	for _, row := range []struct {
		name string
		at   signal.Time
		want float64
	}{
		{"before the first", -5 * ms, 1},
		{"first", 10 * ms, 1},
		{"just before the second", 20*ms - 1, 1},
		{"second", 20 * ms, 2},
		{"within the second", 25 * ms, 3},
		{"ramp begins at the track's value", 40 * ms, 3},
		{"half of the ramp", 50 * ms, 5},
		{"ramp's end", 60 * ms, 7},
		{"and stays", 99 * ms, 7},
		{"last", 100 * ms, -1},
		{"for good", math.MaxInt64, -1},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.InDelta(t, row.want, track.At(row.at), 1e-12)
		})
	}
}

func TestTrackReplans(t *testing.T) {
	var track stimulus.Track
	track.Hold(0, 1)
	track.Hold(10*ms, 2)
	track.Hold(20*ms, 3)
	track.RampTo(10*ms, 10*ms, 4) // from the value planned at 10 ms, and nothing after it is left
	assert.InDelta(t, 1, track.At(9*ms), 0)
	assert.InDelta(t, 2, track.At(10*ms), 0)
	assert.InDelta(t, 3, track.At(15*ms), 1e-15)
	assert.InDelta(t, 4, track.At(30*ms), 0)
}

// A track says what the last segment begun says, in whatever order it is asked.
func TestTrackIsItsSegments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 20).Draw(t, "segments")
		var track stimulus.Track
		var starts []signal.Time
		at := signal.Time(0)
		for i := range n {
			at += signal.Time(rapid.Int64Range(1, 1000).Draw(t, "length"))
			starts = append(starts, at)
			track.Hold(at, float64(i))
		}
		for range 20 {
			q := signal.Time(rapid.Int64Range(-10, int64(at)+10).Draw(t, "query"))
			want := 0
			for i, s := range starts {
				if s <= q {
					want = i
				}
			}
			assert.InDelta(t, float64(want), track.At(q), 0)
		}
	})
}
