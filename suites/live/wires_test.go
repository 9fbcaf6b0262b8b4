package live

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Each line has a pin of its own, also those that the file gives none.
func TestEveryLineOfALayoutHasAPin(t *testing.T) {
	b, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	w := WiresOf(b)
	pins := PinsOf(w.Layout, map[string]int{"steer": 0, "throttle": 3})
	seen := map[uint8]bool{}
	for _, p := range pins {
		assert.False(t, seen[p])
		seen[p] = true
	}
	assert.EqualValues(t, 3, pins[1])
	assert.Len(t, pins, len(w.Layout.Lines))
}

// On the header only a port on a device goes without a pin: none is made up.
func TestTheHeadersPinsAreThoseOfTheFile(t *testing.T) {
	b, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	w, _, err := WiresOf(b).Propose()
	require.NoError(t, err)
	b.Pins = w.Pins
	pins, err := headerPins(w.Layout, new(WiresOf(b)))
	require.NoError(t, err)
	for i, l := range w.Layout.Lines {
		assert.EqualValues(t, w.Pins[l.Name], pins[i], l.Name)
	}
	port, _ := w.Layout.Line("yaw_serial")
	b.Pins["yaw_serial"] = 0
	_, err = headerPins(w.Layout, new(WiresOf(b)))
	assert.ErrorContains(t, err, "yaw_serial has no pin")
	b.Devices = map[string]string{"yaw_serial": "/dev/ttyUSB0"}
	pins, err = headerPins(w.Layout, new(WiresOf(b)))
	require.NoError(t, err)
	assert.EqualValues(t, hostlines.NoPin, pins[port])
	b.Pins["steer"] = 0
	_, err = headerPins(w.Layout, new(WiresOf(b)))
	assert.ErrorContains(t, err, "steer has no pin")
}

// Who makes lines safe has all that are driven, with pins that are proposed too: none is left to a device that the file does not
// name. A port on a device that it names is that device's.
func TestEveryDrivenLineIsMadeSafe(t *testing.T) {
	b, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	safe := func(devices map[string]string) int {
		b.Devices = devices
		w, err := OfBench(b).proposed()
		require.NoError(t, err)
		return len(partsOf(&w.Wires, PinsOf(w.Wires.Layout, w.Wires.Pins), nil).Safe)
	}
	driven := 0
	for _, l := range WiresOf(b).Layout.Lines {
		if l.Direction == signal.Drive {
			driven++
		}
	}
	assert.Equal(t, driven, safe(nil))
	assert.Equal(t, driven-1, safe(map[string]string{"yaw_serial": "/dev/ttyAMA0"}))
}
