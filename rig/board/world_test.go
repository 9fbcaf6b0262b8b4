package board_test

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

const (
	ms     = signal.Millisecond
	us     = signal.Microsecond
	degree = 3.14159265358979323846 / 180

	radius = 0.054
	lines  = 256
)

// The motors in order.
const (
	fl = iota
	fr
	rl
	rr
)

var motorNames = [4]string{"front_left", "front_right", "rear_left", "rear_right"}

// layout is that of the demo car's bench.
func layout() signal.Layout {
	var l signal.Layout
	add := func(name string, d signal.Direction, idle bool) signal.Line {
		l.Lines = append(l.Lines, signal.LineSpec{Name: name, Direction: d, Idle: idle})
		return signal.Line(len(l.Lines) - 1)
	}
	add("steer", signal.Drive, false)
	add("throttle", signal.Drive, false)
	add("gain", signal.Drive, false)
	for _, m := range motorNames {
		add(m+"_a", signal.Drive, false)
		add(m+"_b", signal.Drive, false)
	}
	serial := add("yaw_serial", signal.Drive, true)
	l.Ports = []signal.PortSpec{{Name: "yaw_serial", Line: serial, Baud: 115200}}
	for _, m := range motorNames {
		add("motor_"+m, signal.Capture, false)
	}
	return l
}

// pulse is one motor pulse as it came back.
type pulse struct {
	start, end signal.Time
}

func (p pulse) share() float64 { return float64(p.end-p.start-1000*us) / float64(1000*us) }

// world plays a car to a board with generators of its own.
type world struct {
	t      testing.TB
	board  board.Board
	layout signal.Layout
	now    signal.Time

	// What is played; changes count from the next millisecond on.
	speed                       [4]float64     // m/s
	steer, throttle, gain       signal.Time    // widths; 0: no pulse
	yaw                         float64        // deg/s
	noise                       int            // the last bits of the yaw rate go up and down by this
	yawLost, badChecksum        bool           // of the frames
	corrupt                     func(b []byte) // changes a frame before it is sent
	encoderLost                 [4]bool
	lineBroken                  [4]bool // A of the wheel
	pulseAt, yawAt              signal.Time
	baud                        float64
	phase                       [4]float64 // counts
	sequence                    byte
	pending, in, out            []signal.Edge
	rose                        [4]signal.Time
	high                        [4]bool
	pulses                      [4][]pulse
	lineOfSteer, lineOfSerial   signal.Line
	lineOfEncoder, lineOfMotors signal.Line
}

// newWorld returns a car at rest, sticks centred, gain at 50 %.
func newWorld(t testing.TB, b board.Board) *world {
	w := &world{
		t: t, board: b, layout: layout(),
		steer: 1500 * us, throttle: 1000 * us, gain: 1500 * us, noise: 1,
		pulseAt: 700 * us, yawAt: 1300 * us, baud: 115200,
		phase: [4]float64{0.1, 0.3, 0.6, 0.8},
	}
	w.lineOfSteer, _ = w.layout.Line("steer")
	w.lineOfEncoder, _ = w.layout.Line("front_left_a")
	w.lineOfSerial, _ = w.layout.Line("yaw_serial")
	w.lineOfMotors, _ = w.layout.Line("motor_front_left")
	return w
}

// builtIn returns a world with the built-in board, its settings changed.
func builtIn(t testing.TB, change func(s *board.Settings)) *world {
	s := board.Bramble()
	if change != nil {
		change(&s)
	}
	b, err := board.NewBuiltIn(s, layout(), 1)
	require.NoError(t, err)
	return newWorld(t, b)
}

// withFault returns a world with a seeded fault in the built-in board, its
// settings changed besides.
func withFault(t testing.TB, name string, change func(s *board.Settings)) *world {
	return builtIn(t, func(s *board.Settings) {
		if change != nil {
			change(s)
		}
		faulty, err := board.WithFault(*s, name)
		require.NoError(t, err)
		*s = faulty
	})
}

// straight sets all four wheels to a speed in m/s.
func (w *world) straight(speed float64) { w.speed = [4]float64{speed, speed, speed, speed} }

// steerTo sets the steering pulse to an angle in degrees.
func (w *world) steerTo(degrees float64) {
	w.steer = 1500*us + signal.Time(degrees*float64(500*us)/30)
}

// throttleTo sets the throttle pulse.
func (w *world) throttleTo(share float64) { w.throttle = 1000*us + signal.Time(share*float64(1000*us)) }

// run plays for a time, a millisecond at once.
func (w *world) run(length signal.Time) {
	for end := w.now + length; w.now < end; {
		w.step(ms)
	}
}

// step plays one step of time.
func (w *world) step(length signal.Time) {
	w.make(w.now + length)
	var err error
	w.out, err = w.board.Run(w.in, w.now+length, w.out[:0])
	require.NoError(w.t, err)
	w.now += length
	w.notePulses()
}

// make puts the driven edges after the present up to the given time in w.in.
func (w *world) make(to signal.Time) {
	w.encoders(to)
	for ; w.pulseAt <= to; w.pulseAt += 10 * ms {
		for i, width := range []signal.Time{w.steer, w.throttle, w.gain} {
			if width == 0 {
				continue
			}
			line := w.lineOfSteer + signal.Line(i)
			at := w.pulseAt + signal.Time(i)*us
			w.pending = append(w.pending, signal.Edge{At: at, Line: line, Level: true}, signal.Edge{At: at + width, Line: line})
		}
	}
	for ; w.yawAt <= to; w.yawAt += 5 * ms {
		w.frame(w.yawAt)
	}
	slices.SortStableFunc(w.pending, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	n := 0
	for n < len(w.pending) && w.pending[n].At <= to {
		n++
	}
	w.in = append(w.in[:0], w.pending[:n]...)
	w.pending = append(w.pending[:0], w.pending[n:]...)
}

// encoders makes the edges of the wheels: A leads B rolling forward.
func (w *world) encoders(to signal.Time) {
	levels := [4][2]bool{{false, false}, {true, false}, {true, true}, {false, true}}
	for i, v := range w.speed {
		if w.encoderLost[i] {
			continue
		}
		perNS := v / radius / (2 * 3.14159265358979323846) * 4 * lines / 1e9
		was, is := w.phase[i], w.phase[i]+perNS*float64(to-w.now)
		w.phase[i] = is
		for k := floor(was); k != floor(is); {
			crossing := k + 1
			if is < was {
				crossing = k
			}
			at := w.now + signal.Time((float64(crossing)-was)/perNS) + 1
			old := levels[k&3]
			if is > was {
				k++
			} else {
				k--
			}
			a := w.lineOfEncoder + signal.Line(2*i)
			switch {
			case old[0] == levels[k&3][0]:
				w.pending = append(w.pending, signal.Edge{At: min(at, to), Line: a + 1, Level: levels[k&3][1]})
			case !w.lineBroken[i]:
				w.pending = append(w.pending, signal.Edge{At: min(at, to), Line: a, Level: levels[k&3][0]})
			}
		}
	}
}

func floor(x float64) int64 {
	n := int64(x)
	if float64(n) > x {
		n--
	}
	return n
}

// frame makes the bits of one yaw frame.
func (w *world) frame(at signal.Time) {
	w.sequence++
	if w.yawLost {
		return
	}
	raw := int(w.yaw * 16)
	if w.sequence&1 == 1 {
		raw += w.noise
	} else {
		raw -= w.noise
	}
	data := []byte{0xA5, 0x5A, w.sequence, byte(raw >> 8), byte(raw), 0}
	data[5] = bitwiseCRC(data[2:5])
	if w.badChecksum {
		data[5] ^= 0x10
	}
	if w.corrupt != nil {
		w.corrupt(data)
	}
	w.send(at, data)
}

// send makes the bits of bytes sent back to back, 8N1.
func (w *world) send(at signal.Time, data []byte) {
	level, bit := true, 0
	put := func(l bool) {
		if l != level {
			level = l
			w.pending = append(w.pending, signal.Edge{At: at + signal.Time(float64(bit)*1e9/w.baud), Line: w.lineOfSerial, Level: l})
		}
		bit++
	}
	for _, b := range data {
		put(false)
		for i := range 8 {
			put(b>>i&1 == 1)
		}
		put(true)
	}
}

// bitwiseCRC is the CRC-8 with polynomial 0x07 and initial value 0, bit by bit.
func bitwiseCRC(data []byte) byte {
	crc := byte(0)
	for _, b := range data {
		crc ^= b
		for range 8 {
			top := crc >> 7
			crc = crc<<1 ^ 7*top
		}
	}
	return crc
}

// notePulses notes the pulses that came back.
func (w *world) notePulses() {
	for _, e := range w.out {
		m := e.Line - w.lineOfMotors
		if e.Level {
			w.rose[m] = e.At
		} else {
			w.pulses[m] = append(w.pulses[m], pulse{w.rose[m], e.At})
		}
		w.high[m] = e.Level
	}
}

// last returns the share of the last pulse of each motor.
func (w *world) last() (shares [4]float64) {
	for m := range shares {
		require.NotEmpty(w.t, w.pulses[m], "motor %s gave no pulse", motorNames[m])
		shares[m] = w.pulses[m][len(w.pulses[m])-1].share()
	}
	return shares
}

// mean returns the mean share of each motor over the last 60 ms.
func (w *world) mean() (shares [4]float64) {
	for m := range shares {
		n := 0
		for _, p := range w.pulses[m] {
			if p.end > w.now-60*ms {
				shares[m] += p.share()
				n++
			}
		}
		require.NotZero(w.t, n, "motor %s gave no pulse in the last 60 ms", motorNames[m])
		shares[m] /= float64(n)
	}
	return shares
}

// count returns how many pulses all motors together began in [from, to).
func (w *world) count(from, to signal.Time) (n int) {
	for m := range w.pulses {
		for _, p := range w.pulses[m] {
			if p.start >= from && p.start < to {
				n++
			}
		}
	}
	return n
}
