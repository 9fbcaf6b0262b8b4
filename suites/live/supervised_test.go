package live

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/interlock"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

func TestPoweredMotorsAreWatched(t *testing.T) {
	path, data, known := standard.Source("split")
	require.True(t, known)
	setup, err := suites.Load(suites.Files{
		Car:    language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench:  language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{{Path: path, Data: data}}, Seed: 1,
	})
	require.NoError(t, err)
	layout := setup.Bench.Wiring.Layout()
	for power, watched := range map[interlock.Power]bool{interlock.SignalsOnly: false, interlock.MotorsNoWheels: true, interlock.WheelsOffGround: true} {
		setup.Bench.Power = power
		watch, err := watchOver(setup, layout, 0.25)
		require.NoError(t, err)
		assert.Equal(t, watched, watch != nil, "%v", power)
	}
}
