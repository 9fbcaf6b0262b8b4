package supervisor

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

const us = signal.Microsecond

// motorLines is a layout of four motor lines, numbered as the wheels.
func motorLines() (layout signal.Layout) {
	for _, w := range signal.Wheels {
		layout.Lines = append(layout.Lines, signal.Spec(signal.Motor, w))
	}
	return layout
}

// over returns a watch with a limit of a quarter, over four motors of a kind.
func over(t require.TestingT, m decode.Motor) *Watch {
	w, err := NewWatch(motorLines(), [4]decode.Motor{m, m, m, m}, 0.25)
	require.NoError(t, err)
	return w
}

// watchFor shows a watch edges of line 2, a millisecond at a time, until it tells something
// or the time is over.
func watchFor(w *Watch, edges []signal.Edge, until signal.Time) (at signal.Time, silent, limit bool) {
	for ; at <= until && !silent && !limit; at += ms {
		n := 0
		for n < len(edges) && edges[n].At <= at {
			n++
		}
		silent, limit = w.look(edges[:n], at)
		edges = edges[n:]
	}
	return at, silent, limit
}

// frames repeats a command every 4 ms: its edges, but for the first few, are late as said, and
// upside down where the line rests high.
func frames(one []signal.Edge, inverted bool, count, few int, late signal.Time) (edges []signal.Edge) {
	for i := range count {
		for k, e := range one {
			e.At += signal.Time(i)*4*ms + ms
			if k >= few {
				e.Uncertainty = uint32(late)
			}
			e.Line, e.Level = 2, e.Level != inverted
			edges = append(edges, e)
		}
	}
	return edges
}

// pulse is one of a width.
func pulse(width signal.Time) []signal.Edge { return []signal.Edge{{Level: true}, {At: width}} }

// frame is one at 150 kbit/s: a bit takes 6.67 us, a pulse 3/8 or 6/8 of it.
func frame(value uint32, inverted bool) (edges []signal.Edge) {
	sum := value<<1 ^ value<<1>>4 ^ value<<1>>8
	if inverted {
		sum = ^sum
	}
	return bits(value<<5|sum&0xF, 16)
}

// unsure is one of which the ends of all pulses but four are stamped so late that with stamps uncertain by 3 us
// each may be a 0 or a 1.
func unsure(value uint32, inverted bool) []signal.Edge {
	edges := frame(value, inverted)
	for i := 9; i < len(edges); i += 2 {
		if edges[i].At-edges[i-1].At < 3*us {
			edges[i].At += 1900
		} else {
			edges[i].At += 1000
		}
	}
	return edges
}

// bits is the first bits of a frame.
func bits(word uint32, count int) (edges []signal.Edge) {
	for i := range count {
		begin := signal.Time(i) * 20 * us / 3
		width := 2500 * signal.Nanosecond
		if word>>(15-i)&1 == 1 {
			width *= 2
		}
		edges = append(edges, signal.Edge{At: begin, Level: true}, signal.Edge{At: begin + width})
	}
	return edges
}

func servoMotor(k decode.MotorKind, twoWay, inverted bool) decode.Motor {
	m := decode.Motor{Kind: k, Servo: decode.Servo{Idle: 1000 * us, Full: 2000 * us, Inverted: inverted, WithNeutral: twoWay}}
	if twoWay {
		m.Servo.Idle = 1500 * us
	}
	if k == decode.OneShot125 {
		m.Servo.Idle /= 8
		m.Servo.Full /= 8
	}
	return m
}

func digitalMotor(twoWay, inverted bool) decode.Motor {
	return decode.Motor{Kind: decode.DShot150, DShot: decode.DShot{TwoDirection: twoWay, Inverted: inverted, StopIsIdle: true}}
}

// Commands that are reported without being measured: what is held to the limit, and what is
// silence, 100 ms after the first.
func TestWatchHoldsWhatCannotBeMeasured(t *testing.T) {
	const count = 100
	alternate := func(a, b []signal.Edge) (both []signal.Edge) { // the second 1.5 ms after the first
		both = append(both, a...)
		for _, e := range b {
			e.At += 1500 * us
			both = append(both, e)
		}
		return both
	}
	for _, inverted := range []bool{false, true} {
		for _, test := range []struct {
			name          string
			motor         decode.Motor
			one           []signal.Edge
			late          signal.Time
			silent, limit bool
		}{
			{"full, 25 us late", servoMotor(decode.ServoPulse, false, inverted), pulse(2000 * us), 25 * us, false, true},
			{"full, 250 us late", servoMotor(decode.ServoPulse, false, inverted), pulse(2000 * us), 250 * us, false, true},
			{"idle, 25 us late", servoMotor(decode.ServoPulse, false, inverted), pulse(1000 * us), 25 * us, true, false},
			{"just above, which is left open", servoMotor(decode.ServoPulse, false, inverted), pulse(1270 * us), 25 * us, true, false},
			{"full, so late that it may be idle", servoMotor(decode.ServoPulse, false, inverted), pulse(2000 * us), 900 * us, true, false},
			{"overlong", servoMotor(decode.ServoPulse, false, inverted), pulse(2600 * us), 0, false, true},
			{"overlong, alternating with idle", servoMotor(decode.ServoPulse, false, inverted), alternate(pulse(1000*us), pulse(2600*us)), 0, false, true},
			{"full, alternating with idle", servoMotor(decode.ServoPulse, false, inverted), alternate(pulse(1000*us), pulse(2000*us)), 25 * us, false, true},
			{"full back, 25 us late", servoMotor(decode.ServoPulse, true, inverted), pulse(1000 * us), 25 * us, false, true},
			{"full ahead, 25 us late", servoMotor(decode.ServoPulse, true, inverted), pulse(2000 * us), 25 * us, false, true},
			{"neutral, 25 us late", servoMotor(decode.ServoPulse, true, inverted), pulse(1500 * us), 25 * us, true, false},
			{"either way, nobody knows which", servoMotor(decode.ServoPulse, true, inverted), pulse(1490 * us), 500 * us, true, false},
			{"too short, back", servoMotor(decode.ServoPulse, true, inverted), pulse(400 * us), 0, false, true},
			{"oneshot, full, 25 us late", servoMotor(decode.OneShot125, false, inverted), pulse(250 * us), 25 * us, false, true},
			{"oneshot, idle, 25 us late", servoMotor(decode.OneShot125, false, inverted), pulse(125 * us), 25 * us, true, false},
			{"oneshot, full back, 8 us late", servoMotor(decode.OneShot125, true, inverted), pulse(125 * us), 8 * us, false, true},
			{"oneshot, overlong", servoMotor(decode.OneShot125, false, inverted), pulse(310 * us), 0, false, true},
			{"oneshot, neutral, 8 us late", servoMotor(decode.OneShot125, true, inverted), pulse(187 * us), 8 * us, true, false},
			{"dshot, full, bits left open", digitalMotor(false, inverted), unsure(2047, inverted), 3 * us, false, true},
			{"dshot, standstill, bits left open", digitalMotor(false, inverted), unsure(48, inverted), 3 * us, true, false},
			{"dshot, stop, bits left open", digitalMotor(false, inverted), unsure(0, inverted), 3 * us, true, false},
			{"dshot, back, bits left open", digitalMotor(true, inverted), unsure(1047, inverted), 3 * us, true, false},
			{"dshot, ahead, bits left open", digitalMotor(true, inverted), unsure(2047, inverted), 3 * us, false, true},
			{"dshot, the lower sense, bits left open", digitalMotor(true, inverted), unsure(800, inverted), 3 * us, false, true},
			{"dshot, a frame cut short in a gap", digitalMotor(false, inverted), append(bits(0xF000, 4), signal.Edge{At: 100 * us}), 80 * us, false, true},
			{"dshot, stop", digitalMotor(false, inverted), frame(0, inverted), 100, false, false},
			{"dshot, a wrong checksum says nothing", digitalMotor(false, inverted), bits(0xFFF5, 16), 100, true, false},
			{"a spike", servoMotor(decode.ServoPulse, true, inverted), pulse(10 * us), 1 * us, false, false},
			{"spikes between commands", servoMotor(decode.ServoPulse, true, inverted), alternate(pulse(1500*us), pulse(10*us)), 1 * us, false, false},
			{"a bit", digitalMotor(false, inverted), bits(0xFFFF, 1), 100, false, false},
		} {
			t.Run(fmt.Sprintf("%s, inverted %v", test.name, inverted), func(t *testing.T) {
				few := 0
				if test.motor.Kind.Digital() {
					few = 8 // four bits
				}
				at, silent, limit := watchFor(over(t, test.motor), frames(test.one, inverted, count, few, test.late), count*4*ms)
				assert.Equal(t, test.limit, limit, "limit")
				assert.Equal(t, test.silent, silent, "silent")
				if limit {
					assert.Less(t, at, 10*ms)
				}
				if silent {
					assert.InDelta(t, 105, int64(at/ms), 3, "ms")
				}
			})
		}
	}
}

// A pulse in the midst of which the sampler did not look was at least as wide as the
// longest stretch in which it did.
func TestWatchHoldsPulsesWithGaps(t *testing.T) {
	for _, test := range []struct {
		name  string
		gap   signal.Time // from the beginning
		limit bool
	}{{"near its beginning", 100 * us, true}, {"near its end", 1900 * us, true}, {"in its middle", 1000 * us, false}} {
		t.Run(test.name, func(t *testing.T) {
			one := []signal.Edge{{Level: true}, {At: test.gap, Level: true}, {At: 2000 * us}}
			_, silent, limit := watchFor(over(t, servoMotor(decode.ServoPulse, false, false)), frames(one, false, 100, 0, us), 400*ms)
			assert.Equal(t, test.limit, limit)
			assert.Equal(t, !test.limit, silent, "it may have been two pulses of half the width")
		})
	}
}

// Commands that can be measured keep it quiet, once in 100 ms, whatever comes meanwhile.
func TestWatchNeedsOneMeasuredCommandIn100Ms(t *testing.T) {
	for _, test := range []struct {
		every  signal.Time
		silent bool
	}{{90 * ms, false}, {110 * ms, true}} {
		var edges []signal.Edge
		for at := signal.Time(0); at < signal.Second; at += 5 * ms {
			late := uint32(30 * us)
			if at%test.every == 0 {
				late = 0
			}
			edges = append(edges, signal.Edge{At: at + ms, Uncertainty: late, Line: 2, Level: true}, signal.Edge{At: at + 2*ms, Uncertainty: late, Line: 2})
		}
		_, silent, limit := watchFor(over(t, servoMotor(decode.ServoPulse, false, false)), edges, signal.Second)
		assert.False(t, limit)
		assert.Equal(t, test.silent, silent, "every %v", test.every)
	}
}

// Whatever widths its stamps leave open: a pulse trips where all of them exceed the
// limit, and does not where one is within it.
func TestWatchTripsByTheLeastOfAPulse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]decode.MotorKind{decode.ServoPulse, decode.OneShot125}).Draw(t, "kind")
		m := servoMotor(kind, rapid.Bool().Draw(t, "two ways"), rapid.Bool().Draw(t, "inverted"))
		if rapid.Bool().Draw(t, "downward") {
			m.Servo.Idle, m.Servo.Full = m.Servo.Full, m.Servo.Idle
			if m.Servo.WithNeutral {
				m.Servo.Idle, m.Servo.Full = m.Servo.Full, 2*m.Servo.Full-m.Servo.Idle
			}
		}
		pulse := m.Pulse()
		width := signal.Time(rapid.Int64Range(int64(pulse.Least/2), int64(pulse.Most*2)).Draw(t, "width"))
		lateness := rapid.Uint32Range(0, uint32(pulse.Most/4))
		rose := signal.Edge{At: 10 * ms, Uncertainty: lateness.Draw(t, "rise late"), Line: 2, Level: !m.Servo.Inverted}
		fell := signal.Edge{At: 10*ms + width, Uncertainty: lateness.Draw(t, "fall late"), Line: 2, Level: m.Servo.Inverted}
		exceeds := true
		for share := 0.0; share <= 1; share += 1.0 / 1024 { // the true edges lie in (At-Late, At]
			w := float64(width) - float64(fell.Uncertainty) + share*(float64(fell.Uncertainty)+float64(rose.Uncertainty))
			v := (w - float64(pulse.Idle)) / float64(pulse.Full-pulse.Idle)
			exceeds = exceeds && math.Abs(v) > 0.25+2e-3
		}
		within := false
		for share := 0.0; share <= 1; share += 1.0 / 1024 {
			w := float64(width) - float64(fell.Uncertainty) + share*(float64(fell.Uncertainty)+float64(rose.Uncertainty))
			v := (w - float64(pulse.Idle)) / float64(pulse.Full-pulse.Idle)
			within = within || math.Abs(v) <= 0.25
		}
		w := over(t, m)
		w.look(nil, 5*ms)
		_, limit := w.look([]signal.Edge{rose, fell}, 20*ms+width)
		if exceeds {
			require.True(t, limit, "%v wide", width)
		}
		if within {
			require.False(t, limit, "%v wide", width)
		}
	})
}
