package suites

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// moving is a case in which every input moves, the wheels both ways.
const moving = `
suite: moving
cases:
  - case: all at once
    baseline: none
    hold:
      speed: {sine: 1 m/s, at: 2 Hz, about: 0.3 m/s}
      steer: {sine: 10 deg, at: 1.5 Hz}
      throttle: {sine: 30 %, at: 3 Hz, about: 50 %}
      gain: {sine: 40 %, at: 1 Hz, about: 50 %}
      yaw_rate: {sine: 90 deg/s, at: 5 Hz}
      settle: 100 ms
      observe: 900 ms
    expect: [{motor: all, range: [-100 %, 100 %]}]
`

// mixed wires the setup with every format that a bench can declare, side by side.
func mixed(t *testing.T, s *Setup) {
	w := &s.wiring
	w.Encoders = [4]wire.WheelSensor{
		plant.FrontLeft:  {Quadrature: wire.Quadrature{Lines: 256, Index: true}},
		plant.FrontRight: {Kind: wire.TachoWheel, Tacho: wire.Tacho{Pulses: 60}},
		plant.RearLeft:   {Kind: wire.DutyWheel, Duty: wire.Duty{Period: signal.Millisecond, Least: 0.05, Most: 0.95, Steps: 16384}},
		plant.RearRight:  {Quadrature: wire.Quadrature{Lines: 200, Reverse: true}},
	}
	receiver := wire.Bus{
		Port: "bus", Period: 7 * signal.Millisecond,
		Steer:    wire.BusChannel{Number: 1, Low: 192, High: 1792, LowValue: -0.5, HighValue: 0.5},
		Throttle: wire.BusChannel{Number: 3, Low: 192, High: 1792, LowValue: 0, HighValue: 1},
		Rest:     [wire.BusChannels]uint16{3: 2047, 8: 1365},
		Flags:    0x03,
	}
	bus, err := receiver.Frame()
	require.NoError(t, err)
	w.Ports = append(w.Ports, receiver.Spec(), signal.PortSpec{Name: "speed_receiver", Baud: 57600})
	w.Frames = append(w.Frames, bus,
		wire.Frame{Port: "speed_receiver", Period: 50 * signal.Millisecond, Sentence: wire.Sentence{Kind: wire.RMC}},
		wire.Frame{Port: "speed_receiver", Period: 50 * signal.Millisecond, Sentence: wire.Sentence{Kind: wire.VTG}})
	w.Motors = [4]decode.Motor{
		plant.FrontLeft:  {Kind: decode.ServoPulse, Servo: decode.Servo{Idle: 1000 * signal.Microsecond, Full: 2000 * signal.Microsecond}},
		plant.FrontRight: {Kind: decode.OneShot125, Servo: decode.Servo{Inverted: true}},
		plant.RearLeft:   {Kind: decode.DShot300},
		plant.RearRight:  {Kind: decode.DShot150, DShot: decode.DShot{Inverted: true, TwoDirection: true}},
	}
}

// speaker is a board that sends each motor line another format, with commands
// that go up and down, and takes no notice of its inputs. It is written without
// the rig's own code.
type speaker struct {
	motors  [4]voice
	pending []signal.Edge
	idle    [4]bool
	lines   [4]signal.Line
}

// voice is one motor line of a speaker.
type voice struct {
	period signal.Time
	next   signal.Time
	count  int
	frame  func(count int) []signal.Time // from the frame's start, the ends of its levels, the active one first
}

// newSpeaker makes the board.
func newSpeaker(setup *Setup, _ string) (board.Board, error) {
	const us = signal.Microsecond
	s := &speaker{motors: [4]voice{
		{period: 4003 * us, frame: func(n int) []signal.Time { return []signal.Time{1000*us + signal.Time(n*n%1001)*us} }},
		{period: 1999 * us, frame: func(n int) []signal.Time { return []signal.Time{125*us + signal.Time(n*777%125)*us + 375} }},
		{period: 1000 * us, frame: func(n int) []signal.Time { return digital(48+n*53%2000, 300, false) }},
		{period: 1250 * us, frame: func(n int) []signal.Time { return digital(48+n*101%2000, 150, true) }},
	}}
	layout := setup.wiring.Layout()
	for m, wheel := range plant.Wheels {
		s.lines[m], _ = layout.Line("motor_" + wheel.String())
		s.idle[m] = layout.Lines[s.lines[m]].Idle
		s.motors[m].next = signal.Time(m) * 313 * us
	}
	return s, nil
}

// digital returns the levels' ends of a digital frame: 16 bits, most significant
// first, each high for three quarters of its time for a 1 and three eighths for a
// 0; 11 bits of value, no telemetry, and the xor of the three nibbles, inverted
// where the line is.
func digital(value, rate int, inverted bool) []signal.Time {
	word := value << 1
	sum := (word ^ word>>4 ^ word>>8) & 0xF
	if inverted {
		sum ^= 0xF
	}
	word = word<<4 | sum
	bit := 1e6 / float64(rate) // ns
	var ends []signal.Time
	for i := range 16 {
		at, high := float64(i)*bit, 0.375
		if word>>(15-i)&1 == 1 {
			high = 0.75
		}
		ends = append(ends, signal.Time(math.Round(at+high*bit)), signal.Time(math.Round(at+bit)))
	}
	return ends[:31]
}

func (s *speaker) Name() string                { return "speaker" }
func (s *speaker) Restart(_ signal.Time) error { return nil }
func (s *speaker) Close() error                { return nil }

func (s *speaker) Run(_ []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for m := range s.motors {
		v := &s.motors[m]
		for v.next <= until {
			at, active := v.next, true
			s.pending = append(s.pending, signal.Edge{At: at, Line: s.lines[m], Level: !s.idle[m]})
			for _, end := range v.frame(v.count) {
				active = !active
				s.pending = append(s.pending, signal.Edge{At: at + end, Line: s.lines[m], Level: active != s.idle[m]})
			}
			v.count++
			v.next += v.period
		}
	}
	slices.SortStableFunc(s.pending, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	n := 0
	for n < len(s.pending) && s.pending[n].At <= until {
		n++
	}
	out = append(out, s.pending[:n]...)
	s.pending = append(s.pending[:0], s.pending[n:]...)
	return out, nil
}
