//go:build linux && gpiovm

package chardev_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
)

// What stands before a run, on a chip of the kernel.
func TestCharDeviceTimingBeforeARun(t *testing.T) {
	sim := chardev.Simulate(t, 28)
	before := sim.Infos()
	found, err := preflight.TryTimeByDevice(t.Context(), sim.Device(), realtime.Scheduling{}, decode.Motor{Kind: decode.OneShot125}, 500)
	require.NoError(t, err)
	require.Len(t, found, 2)
	assert.Equal(t, "capture oneshot125", found[0].Check)
	assert.Equal(t, preflight.Warning, found[0].Grade)
	assert.Equal(t, "play wheel sensors", found[1].Check)
	assert.Contains(t, found[1].Says, "of the 500 that the suites need")
	if chardev.Counted() {
		assert.Equal(t, preflight.Well, found[1].Grade, found[1].Says)
	}
	assert.Equal(t, before, sim.Infos())
}
