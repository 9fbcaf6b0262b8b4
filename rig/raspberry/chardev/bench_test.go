//go:build linux

package chardev

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/benchtest"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/serial/serialtest"
	"hilrig/rig/signal"
)

const (
	us = signal.Microsecond
	ms = signal.Millisecond
)

// settings are those of a bench of two wires of an encoder, a receiver's channel that is
// wired to a motor's line, a port, and another motor.
func settings() hostlines.Settings {
	return hostlines.Settings{
		Layout: signal.Layout{
			Lines: []signal.LineSpec{
				{Name: "steer", Role: signal.SteerPulse}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData},
				{Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft},
				{Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "front_left_b", Role: signal.EncoderB, Wheel: signal.FrontLeft},
				{Name: "motor_front_right", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontRight},
				{Name: "throttle", Idle: true, Role: signal.ThrottlePulse},
			},
			Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 1, Baud: 19200}},
		},
		Pins: hostlines.Pins{17, 14, 22, 5, 6, 23, 27},
	}
}

func openFake(t testing.TB, change func(*hostlines.Settings, *fakeChip)) (*Bench, *fakeChip) {
	t.Helper()
	s, chip := settings(), newFakeChip()
	chip.wire[17] = 22
	if change != nil {
		change(&s, chip)
	}
	require.NoError(t, s.Check())
	b, err := newBench(&s, chip)
	require.NoError(t, err)
	t.Cleanup(func() { _ = b.Close() })
	return b, chip
}

func TestCharBenchConforms(t *testing.T) {
	inRealTime(t)
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		b, _ := openFake(t, func(s *hostlines.Settings, _ *fakeChip) { s.Reset = 24 })
		return benchtest.Subject{Bench: b, From: 0, To: 2, Delay: 50 * ms, Port: 0, CanRestart: true}
	})
}

func TestCharBenchRefusesWhatCannotBe(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(*hostlines.Settings)
		want   string
	}{
		{"a line without a pin", func(s *hostlines.Settings) { s.Pins = s.Pins[1:] }, "7 lines and 6 pins"},
		{"a pin used twice", func(s *hostlines.Settings) { s.Pins[3] = 17 }, "both on GPIO17"},
		{"the reset on a line's pin", func(s *hostlines.Settings) { s.Reset = 17 }, "both on GPIO17"},
		{"a reset below 0", func(s *hostlines.Settings) { s.Reset = -1 }, "reset is on GPIO-1"},
		{"dshot", func(s *hostlines.Settings) { s.Formats = []decode.MotorKind{decode.ServoPulse, decode.DShot300} }, "dshot300 cannot be captured: its bits are shorter than the kernel's stamps are uncertain"},
		{"an unknown format", func(s *hostlines.Settings) { s.Formats = []decode.MotorKind{decode.MotorKinds} }, "not known"},
	} {
		s := settings()
		row.change(&s)
		_, err := New("/dev/gpiochip0", s)
		require.ErrorContains(t, err, row.want, row.name)
	}
	_, err := New("", settings())
	require.ErrorContains(t, err, "no chip")
	require.NoError(t, refuses([]decode.MotorKind{decode.ServoPulse, decode.OneShot125}))
}

func TestCharBenchTakesAllLinesOrNone(t *testing.T) {
	b, chip := openFake(t, nil)
	assert.Len(t, chip.user, 7)
	assert.True(t, chip.high(14) && chip.high(27) && !chip.high(17), "idle levels")
	assert.Len(t, chip.calls(), 1, "by one call")
	require.NoError(t, b.Close())
	assert.Empty(t, chip.user)
	assert.Equal(t, 1, chip.closed)
}

// Edges that are due at one time are put out by one call, save those of one encoder.
func TestCharBenchPutsOutTogetherWhatIsDueTogether(t *testing.T) {
	inRealTime(t)
	b, chip := openFake(t, nil)
	at := b.Now() + 20*ms
	edge := func(at signal.Time, line signal.Line, level bool) signal.Edge {
		return signal.Edge{At: at, Line: line, Level: level}
	}
	require.NoError(t, b.Drive([]signal.Edge{
		edge(at, 0, true), edge(at, 3, true), edge(at, 4, true), edge(at, 6, false),
		edge(at+1, 0, false), edge(at+ms, 3, false),
	}, at+2*ms))
	require.NoError(t, b.Wait(at+2*ms))
	var got [][2]uint64
	for _, c := range chip.calls()[1:] {
		got = append(got, [2]uint64{c.mask, c.levels})
	}
	assert.Equal(t, [][2]uint64{
		{1<<17 | 1<<5, 1<<17 | 1<<5},
		{1<<6 | 1<<27, 1 << 6},
		{1 << 17, 0},
		{1 << 5, 0},
	}, got)
	assert.Equal(t, uint64(6), b.Timing().Late.Count)
}

// The times read back hold the calls that put the edges out.
func TestCharBenchReadsBackWhatItPutOut(t *testing.T) {
	inRealTime(t)
	b, chip := openFake(t, nil)
	assert.False(t, b.Exact())
	_, err := b.ReadBack(nil)
	require.NoError(t, err)
	at := b.Now() + 10*ms
	require.NoError(t, b.Drive([]signal.Edge{{At: at, Line: 0, Level: true}, {At: at + 5*ms, Line: 0}}, at+6*ms))
	require.NoError(t, b.Wait(at+6*ms))
	_, err = b.Send(0, b.Now()+10*ms, []byte{0xFF})
	require.NoError(t, err)
	require.NoError(t, b.Wait(b.Now()+15*ms))
	require.NoError(t, b.Drive([]signal.Edge{{At: b.Now() + 10*ms, Line: 0, Level: true}}, b.Now()+10*ms))
	require.NoError(t, b.Wait(b.Now()+11*ms))
	require.NoError(t, b.Safe())

	edges, err := b.ReadBack(nil)
	require.NoError(t, err)
	calls := chip.calls()[1:]
	require.Len(t, calls, 6)
	var lines []signal.Line
	for i, e := range edges {
		lines = append(lines, e.Line)
		call := signal.Time(calls[i].to-calls[0].to) + edges[0].At
		assert.LessOrEqual(t, call-edges[0].At, e.At-edges[0].At+signal.Time(edges[0].Uncertainty))
		assert.Positive(t, e.Uncertainty)
		assert.True(t, i == 0 || e.At >= edges[i-1].At)
	}
	assert.Equal(t, []signal.Line{0, 0, 1, 1, 0, 0}, lines)
	assert.GreaterOrEqual(t, edges[0].At-signal.Time(edges[0].Uncertainty), at)
	edges, err = b.ReadBack(nil)
	require.NoError(t, err)
	assert.Empty(t, edges)
}

var errFake = errors.New("the wire has melted")

func TestCharBenchReportsThatACallFailed(t *testing.T) {
	inRealTime(t)
	b, chip := openFake(t, nil)
	at := b.Now() + 10*ms
	soon := at + 300*ms // long enough for the call to be made to fail on a busy machine
	require.NoError(t, b.Drive([]signal.Edge{{At: at, Line: 0, Level: true}, {At: soon, Line: 0}, {At: soon + ms, Line: 0, Level: true}}, soon+2*ms))
	require.NoError(t, b.Wait(at))
	chip.fail(errFake)
	require.ErrorIs(t, b.Wait(soon+2*ms), errFake)
	require.ErrorIs(t, b.Safe(), errFake)
	chip.fail(nil)
	for name, err := range map[string]error{
		"wait":     b.Wait(b.Now()),
		"drive":    b.Drive(nil, soon+10*ms),
		"captured": second(b.Captured(nil)),
		"readback": second(b.ReadBack(nil)),
		"send":     second(b.Send(0, soon+100*ms, []byte{1})),
		"restart":  b.Restart(),
	} {
		assert.ErrorIs(t, err, errFake, name)
	}
	assert.True(t, chip.high(17))
	require.NoError(t, b.Safe(), "it tries all the same")
	assert.False(t, chip.high(17))
}

func second[T any](_ T, err error) error { return err }

func TestCharBenchIsSafeWhilePlaying(t *testing.T) {
	inRealTime(t)
	b, chip := openFake(t, nil)
	at := b.Now() + 2*ms
	var edges []signal.Edge
	for i := range signal.Time(2000) {
		edges = append(edges, signal.Edge{At: at + i*100*us, Line: signal.Line(i % 2 * 3), Level: i%4 < 2})
	}
	require.NoError(t, b.Drive(edges, at+300*ms))
	for b.Timing().Late.Count < 51 {
		require.NoError(t, b.Wait(b.Now()+50*us))
	}
	require.NoError(t, b.Safe())
	n := len(chip.calls())
	assert.Less(t, n, 2000)
	require.NoError(t, b.Wait(b.Now()+20*ms))
	assert.Len(t, chip.calls(), n, "the rest was dropped")
	for _, offset := range []uint32{5, 6, 17} {
		assert.False(t, chip.high(offset))
	}
	assert.True(t, chip.high(14) && chip.high(27))
}

func TestCharBenchHoldsTheBoardInReset(t *testing.T) {
	b, chip := openFake(t, func(s *hostlines.Settings, _ *fakeChip) { s.Reset = 24 })
	assert.True(t, chip.high(24), "the board runs from the start")
	require.NoError(t, b.Restart())
	calls := slices.DeleteFunc(chip.calls(), func(c fakeSet) bool { return c.mask != 1<<24 })
	require.Len(t, calls, 3)
	assert.Zero(t, calls[1].levels)
	assert.Equal(t, uint64(1<<24), calls[2].levels)
	assert.GreaterOrEqual(t, calls[2].from-calls[1].to, int64(hostlines.ResetFor)-int64(100*us))

	without, _ := openFake(t, nil)
	require.ErrorIs(t, without.Restart(), rig.ErrNotPossible)
}

// A port on a device: its bytes go out there, its line is not driven, and its wire is read
// back where a pin listens.
func TestCharBenchSendsOnADevice(t *testing.T) {
	inRealTime(t)
	for _, row := range []struct {
		name     string
		pin      uint8
		inverted bool
	}{{"read back", 14, false}, {"read back behind an inverter", 14, true}, {"not read back", hostlines.NoPin, false}} {
		t.Run(row.name, func(t *testing.T) {
			far := serialtest.Terminal(t)
			b, chip := openFake(t, func(s *hostlines.Settings, _ *fakeChip) {
				s.Devices = map[string]string{"yaw_serial": far.Device}
				s.Pins[1] = row.pin
				s.Layout.Lines[1].Idle, s.Layout.Ports[0].Inverted = !row.inverted, row.inverted
			})
			var able rig.Bench = b
			assert.Equal(t, row.pin != hostlines.NoPin, able.Samples(1))
			assert.True(t, able.Samples(0))
			assert.False(t, able.Samples(2), "it is captured")
			assert.Empty(t, able.LateStretches(nil))
			_, err := b.ReadBack(nil)
			require.NoError(t, err)
			at := b.Now() + 10*ms
			end, err := b.Send(0, at, []byte("ab"))
			require.NoError(t, err)
			assert.InDelta(t, int64(at+20*signal.Second/19200), int64(end), 2)
			require.Error(t, b.Drive([]signal.Edge{{At: at, Line: 1, Level: row.inverted}}, at), "the line is the device's")
			require.NoError(t, b.Drive([]signal.Edge{{At: at, Line: 0, Level: true}}, at))
			far.Hear(t, 2, b.Present)
			assert.Equal(t, "ab", string(far.Data))
			chip.mu.Lock()
			chip.move(14, false) // a start bit
			chip.mu.Unlock()
			require.NoError(t, b.Wait(max(end, b.Present())))
			edges, err := b.ReadBack(nil)
			require.NoError(t, err)
			var lines []signal.Line
			for i, e := range edges {
				lines = append(lines, e.Line)
				assert.True(t, i == 0 || e.At >= edges[i-1].At)
			}
			if row.pin == hostlines.NoPin {
				assert.Equal(t, []signal.Line{0}, lines)
				return
			}
			require.Equal(t, []signal.Line{0, 1}, lines)
			assert.Equal(t, row.inverted, edges[1].Level, "as the board sees it")
			assert.Equal(t, uint32(StampUncertainty), edges[1].Uncertainty)

			_, err = b.Send(0, b.Now()+200*ms, []byte("dropped"))
			require.NoError(t, err)
			require.NoError(t, b.Safe())
			far.Silence(t, 300*time.Millisecond)
		})
	}
	s, chip := settings(), newFakeChip()
	s.Devices = map[string]string{"yaw_serial": "/dev/none"}
	require.NoError(t, s.Check())
	_, err := newBench(&s, chip)
	require.ErrorContains(t, err, "/dev/none")
	assert.Empty(t, chip.user)
}

func TestCharBenchLeavesTheUARTsPinAlone(t *testing.T) {
	for device, own := range map[string]bool{
		"/dev/ttyAMA0": true, "/dev/ttyS0": true, "/dev/serial0": true,
		"/dev/ttyUSB0": false, "/dev/ttyACM1": false, "/dev/serial/by-id/usb-adapter": false,
	} {
		s := settings()
		s.Devices = map[string]string{"yaw_serial": device}
		lines := new(chipBackend).sort(&s)
		assert.Equal(t, !own, slices.Contains(lines.back, 14), device)
		assert.NotContains(t, append(lines.driven, lines.captured...), uint32(14), device)
	}
}
