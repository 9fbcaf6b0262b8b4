package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/stimulus/wire"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// curvedTable is a measured steering table that is no line: its mean angle goes faster on one side.
const curvedTable = `steering:
  - {pulse: 1000 us, left: -20 deg, right: -24 deg}
  - {pulse: 1500 us, left: 0 deg, right: 0 deg}
  - {pulse: 1750 us, left: 17 deg, right: 15 deg}
  - {pulse: 2000 us, left: 30 deg, right: 26 deg}
`

// A firmware that has the table gets the table's pulse; one that takes the angle as linear in
// the pulse the line's.
func TestTheSteeringPulseIsThatOfTheTable(t *testing.T) {
	text := string(demo.CarYAML)
	from := strings.Index(text, "steering:\n")
	to := strings.Index(text[from:], "\n\n") + from
	text = text[:from] + curvedTable + text[to:]
	width := func(text string, deg float64) int64 {
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(text)})
		require.NoError(t, err)
		bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
		require.NoError(t, err)
		w, err := file.Complete(bench, car)
		require.NoError(t, err)
		e, err := wire.NewPulses(w.Steer, 0, 0)
		require.NoError(t, err)
		assert.InDelta(t, rad(deg), e.ValueOf(e.Width(rad(deg))), 1e-6, "it stands for what was played")
		return int64(e.Width(rad(deg)))
	}
	byTable := strings.Replace(text, "    steer: linear\n", "", 1)
	assert.InDelta(t, 1_625_000, width(byTable, 8), 2)
	assert.InDelta(t, 1_250_000, width(byTable, -11), 2)
	assert.NotEqual(t, text, byTable)
	// By least squares through the four mean angles, worked out apart: 50.514286 deg/ms about 1453.620 us.
	assert.InDelta(t, 1_611_991, width(text, 8), 2)
}
