//go:build linux

package raspberry

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/raspberry/realtime"
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
func TestAPortsWireTellsWhenItsDeviceSentOnAClockOfItsOwn(t *testing.T) {
	turns := turnsOfATest()
	clock := turns.Clock.(*realtime.Manual)
	w := wiring(signal.PortSpec{Name: "yaw_serial", Baud: 115200})
	layout := w.Layout()
	_, bit := line(t, layout, "yaw_serial")
	m := &Memory{}
	m.Set(bit)
	bench, err := New(Settings{Layout: layout, Bank: foreseen{m, clock}, Pins: pinsOf(layout), Devices: map[string]string{"yaw_serial": terminal(t).device}, Time: turns})
	require.NoError(t, err)
	uart, err := wire.NewUART(layout.Ports[0])
	require.NoError(t, err)
	device := &wiredDevice{uart: uart, clock: clock, bank: m, bit: bit, takes: 70 * us}
	port := bench.ports[0].device
	require.NoError(t, port.out.Close())
	port.out = device
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

// What a device is to send is written when it is due, in order, and dropped by Safe.
func TestADevicesMessagesAreWrittenWhenDue(t *testing.T) {
	now := signal.Time(0)
	out := &keptBytes{}
	p, err := startPort(portSpec, out, func() signal.Time { return now }, inTurns)
	require.NoError(t, err)
	assert.Equal(t, never, p.due())
	_, err = p.Send(5*ms, []byte{1, 2})
	require.NoError(t, err)
	end, err := p.Send(5*ms, []byte{3})
	require.NoError(t, err)
	assert.Equal(t, 5*ms, p.due())
	p.putDue(5*ms - 1)
	assert.Empty(t, out.data)
	p.putDue(5 * ms)
	assert.Equal(t, []byte{1, 2}, out.data, "the other follows the bytes under way")
	p.putDue(end)
	assert.Equal(t, []byte{1, 2, 3}, out.data)
	_, err = p.Send(20*ms, []byte{4})
	require.NoError(t, err)
	now = 10 * ms
	require.NoError(t, p.Safe())
	p.putDue(30 * ms)
	assert.Len(t, out.data, 3, "it was dropped")
	require.NoError(t, p.Close())
	assert.True(t, out.closed)
	_, err = p.Send(40*ms, []byte{5})
	assert.Error(t, err)
}

// keptBytes is a device that keeps what is written to it.
type keptBytes struct {
	data   []byte
	closed bool
}

func (w *keptBytes) Write(data []byte) (int, error) {
	w.data = append(w.data, data...)
	return len(data), nil
}
func (w *keptBytes) ResetOutputBuffer() error { return nil }
func (w *keptBytes) Close() error             { w.closed = true; return nil }
