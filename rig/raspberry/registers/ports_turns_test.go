//go:build linux

package registers

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial"
	"hilrig/rig/raspberry/serial/serialtest"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// wiredDevice is a serial device in memory whose wire is a line of a bank: what is written to
// it appears there after a while of its driver's.
type wiredDevice struct {
	uart  wire.UART
	clock *realtime.Manual
	bank  *Memory
	bit   uint32
	takes signal.Time
	busy  signal.Time
	began []signal.Time // of each message, on the wire
}

func (d *wiredDevice) Write(data []byte) (int, error) {
	edges, end := d.uart.Append(nil, max(d.clock.Now()+d.takes, d.busy), data)
	d.busy = end
	d.began = append(d.began, edges[0].At)
	for _, e := range edges {
		d.clock.At(e.At, func() {
			if e.Level {
				d.bank.Set(d.bit)
			} else {
				d.bank.Clear(d.bit)
			}
		})
	}
	return len(data), nil
}

func (d *wiredDevice) ResetOutputBuffer() error { return nil }
func (d *wiredDevice) Close() error             { return nil }

// foreseen is a bank whose lines change as a clock says: it looks often enough not to miss it.
type foreseen struct {
	*Memory
	clock *realtime.Manual
}

func (f foreseen) ahead(until signal.Time) signal.Time {
	return min(until, f.clock.Now()+5*us)
}

// A device sends when its driver gets round to it, and its wire, read back, tells when: within
// what its samples leave open.
func TestAPortsWireReportsWhenItsDeviceSentOnAClockOfItsOwn(t *testing.T) {
	turns := turnsOfATest()
	clock := turns.Clock.(*realtime.Manual)
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	layout := w.Layout()
	_, bit := line(t, layout, "yaw_serial")
	m := &Memory{}
	m.Set(bit)
	bench, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pinsOf(layout), Devices: map[string]string{"yaw_serial": serialtest.Terminal(t).Device}}, PinBank: foreseen{m, clock}, Time: turns})
	require.NoError(t, err)
	uart, err := wire.NewUART(layout.Ports[0])
	require.NoError(t, err)
	device := &wiredDevice{uart: uart, clock: clock, bank: m, bit: bit, takes: 70 * us}
	require.NoError(t, bench.Ports[0].Device.Close())
	port, err := serial.Start(layout.Ports[0], device, bench.on.clock.now, serial.InTurns)
	require.NoError(t, err)
	bench.Ports[0].Device, bench.on.turns.ports[0] = port, port
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	var tr trace.Trace
	require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{YawRate: 1}, 300*ms), &tr))
	seen := 0
	for i, s := range tr.Sent[trace.SentYawRate] {
		if s.EndUncertainty == 0 {
			continue // the last has not been seen yet
		}
		seen++
		assert.LessOrEqual(t, s.Start, device.began[i], "message %d", i)
		assert.GreaterOrEqual(t, s.Start+s.EndUncertainty, device.began[i], "message %d", i)
		assert.LessOrEqual(t, s.EndUncertainty, 15*us, "it looks every 5 us here")
	}
	assert.GreaterOrEqual(t, seen, 50)
	assert.GreaterOrEqual(t, r.Timing().Late, 60*us, "the driver takes its time")
	assert.LessOrEqual(t, len(device.began), seen+1, "at most the last is not seen yet")
}
