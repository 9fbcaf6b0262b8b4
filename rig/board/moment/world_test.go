package moment_test

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/board/moment"
	"hilrig/rig/signal"
)

// The lines of the bench, in the layout's order.
const (
	receiverLine signal.Line = iota
	yawLine
	encoderLines // two of each wheel
	motorLines   = encoderLines + 8
)

// layout has the lines of Thistle's bench.
func layout() signal.Layout {
	l := signal.Layout{Lines: []signal.LineSpec{
		{Name: "receiver_bus", Role: signal.SerialData},
		{Name: "yaw_serial", Role: signal.SerialData, Idle: true},
	}}
	for _, w := range signal.Wheels {
		l.Lines = append(l.Lines, signal.Spec(signal.EncoderA, w), signal.Spec(signal.EncoderB, w))
	}
	for _, w := range signal.Wheels {
		l.Lines = append(l.Lines, signal.Spec(signal.Motor, w))
	}
	return l
}

// sent is one frame as it was read off a motor's line.
type sent struct {
	at    signal.Time // of its first edge
	value int
}

// world is a car's wires round one board, by code of its own.
type world struct {
	mayBeCorrupt bool   // of the motor frames
	corrupted    [4]int // frames to each motor
	t            testing.TB
	board        *moment.Board
	now          signal.Time

	speed                 [4]float64 // m/s of each wheel
	steer, throttle, gain int        // counts
	yaw                   float64    // deg/s
	flags                 byte
	noReceiver, noYaw     bool
	counterStands, badCRC bool
	badParity, badStop    bool
	corrupt               func(frame []byte) []byte // of the receiver
	corruptYaw            func(frame []byte) []byte
	yawEvery              signal.Time

	counter byte
	angle   [4]float64 // counts of each encoder
	planned []signal.Edge
	shown   []bool // level of each line as planned
	raw     []signal.Edge
	read    int // of raw, that was decoded
	reader  [4]reader
	frames  [4][]sent // front left, front right, rear left, rear right
}

// newWorld returns a car that stands still, its throttle at idle and its gain full.
func newWorld(t testing.TB, seed uint64, faults ...string) *world {
	s := moment.Thistle()
	var err error
	for _, f := range faults {
		s, err = moment.WithFault(s, f)
		require.NoError(t, err)
	}
	b, err := moment.New(s, layout(), seed)
	require.NoError(t, err)
	w := &world{t: t, board: b, mayBeCorrupt: slices.Contains(faults, "frame_corrupt"), steer: 992, throttle: 192, gain: 1792, corrupt: same, corruptYaw: same, yawEvery: 5 * signal.Millisecond}
	for _, l := range layout().Lines {
		w.shown = append(w.shown, l.Idle)
	}
	return w
}

// same changes nothing.
func same(frame []byte) []byte { return frame }

// ready plays a car at rest until the board has armed.
func (w *world) ready() *world {
	w.run(1500 * signal.Millisecond)
	return w
}

// drive sets a left turn of 8 deg at 4 m/s on 40 % throttle, with that yaw rate in deg/s. The
// demand is 92.5 deg/s.
func (w *world) drive(yaw float64) *world {
	w.speed = [4]float64{4, 4, 4, 4}
	w.steer, w.throttle, w.yaw = 992+267, 192+640, yaw
	return w
}

// run plays that long.
func (w *world) run(d signal.Time) {
	w.play(d, signal.Millisecond)
}

// play plays that long, the board in steps of that length. What is played comes in
// milliseconds.
func (w *world) play(d, step signal.Time) {
	end := w.now + d
	for w.now < end {
		if w.now%signal.Millisecond == 0 {
			w.plan()
		}
		w.now += step
		n := 0
		for n < len(w.planned) && w.planned[n].At <= w.now {
			n++
		}
		out, err := w.board.Run(w.planned[:n], w.now, nil)
		require.NoError(w.t, err)
		w.planned = slices.Delete(w.planned, 0, n)
		w.raw = append(w.raw, out...)
	}
	w.decode()
}

// plan plans the wires of the millisecond that begins.
func (w *world) plan() {
	if w.now%(10*signal.Millisecond) == 2*signal.Millisecond && !w.noReceiver {
		w.serial(receiverLine, w.now+123_457, 100_000, true, w.corrupt(w.bus()))
	}
	if w.now%w.yawEvery == 3*signal.Millisecond {
		w.sensor()
	}
	for i, v := range w.speed {
		w.roll(i, v*256/(2*math.Pi*0.042)/1000)
	}
	slices.SortStableFunc(w.planned, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
}

// bus returns the bytes of a receiver's frame, bit by bit.
func (w *world) bus() []byte {
	var count [16]int
	count[0], count[1], count[6] = w.throttle, w.steer, w.gain
	f := make([]byte, 25)
	f[0], f[23] = 0x0F, w.flags
	for bit := range 16 * 11 {
		f[1+bit/8] |= byte(count[bit/11]>>(bit%11)&1) << (bit % 8)
	}
	return f
}

// sensor sends a frame of the yaw-rate sensor.
func (w *world) sensor() {
	if !w.counterStands {
		w.counter++
	}
	raw := int(math.Round(w.yaw / 0.002))
	f := []byte{0x7B, w.counter, byte(raw), byte(raw >> 8), byte(raw >> 16), 0}
	sum := divide(f[1:])
	if w.badCRC {
		sum ^= 0x0100
	}
	if !w.noYaw {
		w.serial(yawLine, w.now+50_001, 230_400, false, w.corruptYaw(append(f, byte(sum), byte(sum>>8))))
	}
}

// divide returns the checksum of five bytes as the remainder of a long division: with the initial value
// on the first 16 bits, and 16 zeros behind.
func divide(f []byte) uint64 {
	rest := uint64(f[0]^0xFF)<<32 | uint64(f[1]^0xFF)<<24 | uint64(f[2])<<16 | uint64(f[3])<<8 | uint64(f[4])
	rest <<= 16
	for top := 55; top >= 16; top-- {
		if rest>>top&1 == 1 {
			rest ^= 0x11021 << (top - 16)
		}
	}
	return rest
}

// serial plans bytes on a line: with parity, two stop bits and upside down, or plain.
func (w *world) serial(line signal.Line, at signal.Time, baud int64, bus bool, data []byte) {
	n := int64(0)
	bit := func(mark bool) {
		w.level(line, at+signal.Time(n*int64(signal.Second)/baud), mark != bus)
		n++
	}
	for _, b := range data {
		bit(false)
		ones := 0
		for i := range 8 {
			bit(b>>i&1 == 1)
			ones += int(b >> i & 1)
		}
		if bus {
			bit(ones%2 == 1 != w.badParity)
			bit(true)
		}
		bit(!w.badStop)
		if w.badStop {
			bit(true)
		}
	}
}

// roll turns a wheel by that many counts over a millisecond: A changes before B as it rolls forward.
func (w *world) roll(wheel int, counts float64) {
	from := w.angle[wheel]
	w.angle[wheel] += counts
	at := func(angle float64) signal.Time {
		return w.now + signal.Time((angle-from)/counts*float64(signal.Millisecond-1))
	}
	step := func(state float64, when signal.Time) {
		n := int(state) & 3
		a := encoderLines + signal.Line(2*wheel)
		w.level(a, when, n == 1 || n == 2)
		w.level(a+1, when, n >= 2)
	}
	if counts > 0 {
		for k := math.Floor(from) + 1; k <= w.angle[wheel]; k++ {
			step(k, at(k))
		}
		return
	}
	for k := math.Floor(from); k > w.angle[wheel]; k-- {
		step(k-1, at(k))
	}
}

// level plans an edge, where there is one.
func (w *world) level(line signal.Line, at signal.Time, level bool) {
	if w.shown[line] != level {
		w.shown[line] = level
		w.planned = append(w.planned, signal.Edge{At: at, Line: line, Level: level})
	}
}

// reader reads one motor's frames, edge by edge.
type reader struct {
	begin, rise signal.Time
	bits, word  int
}

// decode reads what is new on the motors' lines.
func (w *world) decode() {
	for _, e := range w.raw[w.read:] {
		i := e.Line - motorLines
		r := &w.reader[i]
		if e.Level {
			if r.bits == 0 {
				r.begin = e.At
			} else {
				w.require(math.Abs(3333-float64(e.At-r.rise)) <= 1, "%v from bit to bit", e.At-r.rise)
			}
			r.rise = e.At
			continue
		}
		high := e.At - r.rise
		w.require(high == 1250 || high == 2500, "high for %v", high)
		r.word <<= 1
		if high == 2500 {
			r.word |= 1
		}
		if r.bits++; r.bits == 16 {
			sound := (r.word^r.word>>4^r.word>>8^r.word>>12)&15 == 0
			w.require(sound || w.mayBeCorrupt, "the four nibbles of a frame cancel out")
			if !sound {
				w.corrupted[i]++
			}
			w.frames[i] = append(w.frames[i], sent{r.begin, r.word >> 5})
			r.bits, r.word = 0, 0
		}
	}
	w.read = len(w.raw)
}

// require ends the test where something does not hold, of so many edges that the library's own would take most of the time.
func (w *world) require(holds bool, format string, values ...any) {
	if !holds {
		w.t.Helper()
		require.Failf(w.t, "not what is sent", format, values...)
	}
}

// values returns what each motor got last.
func (w *world) values() (v [4]int) {
	for i, f := range w.frames {
		if len(f) > 0 {
			v[i] = f[len(f)-1].value
		}
	}
	return v
}

// shift returns the rear right motor's last command less the throttle's, in % of range.
func (w *world) shift() float64 {
	return float64(w.values()[3]-48)/19.99 - float64(w.throttle-192)/16
}

// since returns a motor's frames from a time on.
func (w *world) since(motor int, at signal.Time) (later []sent) {
	for _, f := range w.frames[motor] {
		if f.at >= at {
			later = append(later, f)
		}
	}
	return later
}
