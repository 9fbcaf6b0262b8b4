package esc_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/esc"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// cellStand is a stand whose file has the right slope of the cell, 400000 counts/kg, and counts
// under both masses that lie 20000 too high.
const cellStand = `stand: cell stand
throttle: {kind: servo_pulse, idle: 1000 us, full: 2000 us, rate: 400 Hz}
measure:
  load_cell: {rate: 80 Hz, zero: 8120, span: [{counts: 108120, mass: 200 g, tolerance: 0.1 g}, {counts: 428120, mass: 1 kg}], arm: {value: 80 mm, tolerance: 0.5 mm}}
held: [{kind: locked, level_limit: 2 s, starts_locked: yes}]
`

func standOf(t *testing.T, text string) *file.Stand {
	t.Helper()
	s, err := file.ParseStand(language.Source{Path: "cell.yaml", Data: []byte(text)}, nil)
	require.NoError(t, err)
	return s
}

// The simulated cell has the slope and the zero of its file: the counts under a mass m in kg are
// 8120 + 400000 m (CALC), whatever the file says of them. The noise of its readings is 60 counts, of a
// mean of 200 about 4.
func TestCalibrationFindsZeroAndSpan(t *testing.T) {
	var hung []float64
	c, err := (&esc.Setup{Stand: standOf(t, cellStand), Seed: 1}).Calibrate(t.Context(), func(mass float64) error {
		hung = append(hung, mass)
		return nil
	})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0.2, 1}, hung)
	assert.InDelta(t, 8120, c.Zero, 20)
	assert.InDelta(t, 88120, c.Span[0].Counts, 20)
	assert.InDelta(t, 408120, c.Span[1].Counts, 20)
	assert.InDelta(t, 60, c.Noise, 15)
	assert.Greater(t, c.Readings, 100)
	assert.InDelta(t, 0, c.Bend, 1e-4)
	assert.Empty(t, c.Wrong())

	// Put in the file in their place, the lines are read back as they are.
	head, _, _ := strings.Cut(cellStand, "  load_cell:")
	text := head + "  load_cell:\n    rate: 80 Hz\n    arm: {value: 80 mm, tolerance: 0.5 mm}\n" + strings.Join(c.Lines(), "\n") +
		"\nheld: [{kind: locked, level_limit: 2 s, starts_locked: yes}]\n"
	s := standOf(t, text)
	assert.InDelta(t, c.Zero, s.LoadCell.Zero, 0.51)
	assert.InDelta(t, c.Span[1].Counts, s.LoadCell.Span[1].Counts, 0.51)
	assert.InDelta(t, 1e-4, s.LoadCell.Span[0].Tolerance, 1e-12)
}

func TestCalibrationEndsWhereItCannotGoOn(t *testing.T) {
	on := func(float64) error { return nil }
	refused := errors.New("not confirmed")
	_, err := (&esc.Setup{Stand: standOf(t, cellStand)}).Calibrate(t.Context(), func(float64) error { return refused })
	require.ErrorIs(t, err, refused)

	demoStand, err := file.ParseStand(language.Source{Path: "demo.yaml", Data: demo.StandYAML}, nil)
	require.NoError(t, err)
	_, err = (&esc.Setup{Stand: demoStand}).Calibrate(t.Context(), on)
	require.ErrorContains(t, err, "demo.yaml: the stand has no load_cell to calibrate; add one under measure")

	// With 1.6 million counts/kg 15 kg are 24 million counts, beyond the end of the converter's range, 8388607 (CALC).
	heavy := strings.ReplaceAll(cellStand, "{counts: 428120, mass: 1 kg}", "{counts: -8000000, mass: 25 kg}")
	heavy = strings.ReplaceAll(heavy, "{counts: 108120, mass: 200 g, tolerance: 0.1 g}", "{counts: 7999880, mass: 15 kg}")
	_, err = (&esc.Setup{Stand: standOf(t, heavy)}).Calibrate(t.Context(), on)
	require.ErrorContains(t, err, "at the end of its range")

	stopped, stop := context.WithCancel(t.Context())
	stop()
	_, err = (&esc.Setup{Stand: standOf(t, cellStand)}).Calibrate(stopped, on)
	require.ErrorIs(t, err, context.Canceled)
}

func TestCalibrationSaysWhatIsWrong(t *testing.T) {
	good := esc.Calibration{Zero: 100, Span: [2]file.CellLoad{{Counts: 1100, Mass: 0.1}, {Counts: 10100, Mass: 1}}, Noise: 10, Readings: 100}
	for _, test := range []struct {
		name, want string
		change     func(c *esc.Calibration)
	}{
		{"straight", "", func(*esc.Calibration) {}},
		{"the wires of the cell are off", "the two masses are 0 counts apart and one reading scatters by 10", func(c *esc.Calibration) { c.Span[1].Counts = 1100 }},
		{"something touches the arm", "the zero lies 2.0 % off the line through both masses", func(c *esc.Calibration) { c.Bend = -0.02 }},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := good
			test.change(&c)
			if test.want == "" {
				assert.Empty(t, c.Wrong())
				return
			}
			assert.Contains(t, c.Wrong(), test.want)
		})
	}
}
