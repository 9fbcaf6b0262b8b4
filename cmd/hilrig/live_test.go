package main

import (
	"testing"

	"hilrig/rig/interlock"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPoweredMotorsAreWatched(t *testing.T) {
	c := &cobra.Command{}
	c.SetContext(t.Context())
	f := inputFlags{seed: 1}
	setup, err := f.load(c, nil)
	require.NoError(t, err)
	layout := setup.Bench.Wiring.Layout()
	for power, watched := range map[interlock.Power]bool{interlock.SignalsOnly: false, interlock.MotorsNoWheels: true, interlock.WheelsOffGround: true} {
		setup.Bench.Power = power
		watch, err := watchOver(setup, layout, 0.25)
		require.NoError(t, err)
		assert.Equal(t, watched, watch != nil, "%v", power)
	}
}
