package stimulus_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
	"hilrig/stimulus"
)

func TestSwingsAndTables(t *testing.T) {
	const s = signal.Second
	sine := stimulus.Sine{Amplitude: 2, About: 1, Frequency: 0.5, Cycles: 1.5}
	dwell := stimulus.SineWithDwell{Amplitude: 3, About: 1, Frequency: 0.7, Dwell: 500 * ms}
	chirp := stimulus.Chirp{Amplitude: 1, From: 1, To: 3, Over: 2 * s}
	table := stimulus.Table{Times: []signal.Time{s, 2 * s, 4 * s}, Values: []float64{1, 3, -1}}
	cycle := signal.FromSeconds(1 / 0.7)
	for _, row := range []struct {
		name  string
		shape stimulus.Shape
		at    signal.Time
		want  float64
	}{
		{"sine begins at its middle", sine, 0, 1},
		{"sine, a quarter", sine, s / 2, 3},
		{"sine, three quarters", sine, 3 * s / 2, -1},
		{"sine stays after its cycles", sine, 3*s + 1, 1},
		{"sine for good", stimulus.Sine{Amplitude: 2, Frequency: 0.5}, 100*s + s/2, 2},
		{"chirp's phase is the integral of its frequency", chirp, s, math.Sin(2 * math.Pi * 1.5)},
		{"chirp, a quarter of its time", chirp, s / 2, math.Sin(2 * math.Pi * 0.625)},
		{"chirp is over", chirp, 2 * s, 0},
		{"dwell: first peak", dwell, cycle / 4, 4},
		{"dwell: third quarter", dwell, 3 * cycle / 4, -2},
		{"dwell: in the pause", dwell, 3*cycle/4 + 400*ms, -2},
		{"dwell: fourth quarter, an eighth in", dwell, 7*cycle/8 + 500*ms, 1 - 3/math.Sqrt2},
		{"dwell: over", dwell, cycle + 501*ms, 1},
		{"table before", table, 0, 1},
		{"table between", table, 3 * s / 2, 2},
		{"table at a point", table, 2 * s, 3},
		{"table between, falling", table, 3 * s, 1},
		{"table after", table, 9 * s, -1},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.InDelta(t, row.want, row.shape.At(row.at), 1e-8)
		})
	}
	least, most := table.Span()
	assert.Equal(t, []float64{-1, 3}, []float64{least, most})
}

func TestSwingsAllocateNothing(t *testing.T) {
	var track stimulus.Track
	track.Add(0, stimulus.SineWithDwell{Amplitude: 3, Frequency: 0.7, Dwell: 500 * ms})
	track.Add(2*signal.Second, stimulus.Table{Times: []signal.Time{0, signal.Second}, Values: []float64{1, 2}})
	sum := 0.0
	assert.Zero(t, testing.AllocsPerRun(100, func() { sum += track.At(300*ms) + track.At(2500*ms) }))
	assert.NotZero(t, sum)
}
