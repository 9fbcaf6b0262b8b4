package wire

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/rig/signal"
)

// ThrottleFormat is how a command to a speed controller goes on its wire.
type ThrottleFormat uint8

// The formats of a throttle command.
const (
	ServoPulse ThrottleFormat = iota // a pulse of about 1000 to 2000 us
	OneShot125                       // the same in an eighth of the time
	DShot150                         // digital frames at 150 kbit/s
	DShot300
	DShot600
	ThrottleFormats // how many there are
)

var throttleWords = [ThrottleFormats]string{"servo_pulse", "oneshot125", "dshot150", "dshot300", "dshot600"}

var throttleRates = [ThrottleFormats]int64{DShot150: 150, DShot300: 300, DShot600: 600}

// String returns the format's word, "dshot300".
func (f ThrottleFormat) String() string {
	if f >= ThrottleFormats {
		return fmt.Sprintf("throttle format %d", uint8(f))
	}
	return throttleWords[f]
}

// ThrottleFormatNamed returns the format with that word; ok is false where there is none.
func ThrottleFormatNamed(word string) (f ThrottleFormat, ok bool) {
	i := slices.Index(throttleWords[:], word)
	return ThrottleFormat(max(i, 0)), i >= 0
}

// rate returns the bit rate of a digital format in kbit/s, 0 of a pulse.
func (f ThrottleFormat) rate() int64 {
	if f >= ThrottleFormats {
		return 0
	}
	return throttleRates[f]
}

// Digital says whether commands go as frames of bits.
func (f ThrottleFormat) Digital() bool { return f.rate() > 0 }

// Throttle declares the line on which a speed controller is given its commands.
type Throttle struct {
	Format ThrottleFormat
	Frame  signal.Time // from the beginning of one command to that of the next

	// Idle and Full are the widths of a pulse that stand for the commands 0 and 1. 0 of
	// OneShot125 means 125 us (187.5 us with a neutral) and 250 us; a servo pulse needs both.
	Idle, Full signal.Time
	// WithNeutral says that widths on the other side of Idle are commands down to -1.
	WithNeutral bool
	// Step is what widths are rounded to; 0 means 1 ns.
	Step signal.Time

	// TwoDirection says that the values 48 to 1047 of a digital frame are one sense of
	// rotation and 1048 to 2047 the other.
	TwoDirection bool
	ForwardLower bool // with TwoDirection, that 48 to 1047 are ahead
	StopIsIdle   bool // the command 0 goes as the value 0, which stops the motor, and not as the least throttle
	Ask          bool // every digital frame asks the controller for telemetry

	// Inverted says that the line rests high; of a digital format the checksum is inverted too.
	Inverted bool
}

// The widths of OneShot125 where none are declared, and the rest that a digital frame needs
// behind it, in bits (common practice, no source).
const (
	oneShotIdle    = 125 * signal.Microsecond
	oneShotNeutral = 187500 * signal.Nanosecond
	oneShotFull    = 250 * signal.Microsecond
	restBits       = 2
)

// The numbers of a digital frame: 16 bits, a pulse of 3/8 of a bit time for 0 and of 6/8 for 1.
const (
	dshotBits   = 16
	dshotLeast  = 48   // the least value that is throttle
	dshotMiddle = 1048 // the first of the upper sense
	dshotMost   = 2047
	eighthsZero = 3
	eighthsOne  = 6
)

// withDefaults returns c with its widths filled in.
func (c Throttle) withDefaults() Throttle {
	c.Step = cmp.Or(c.Step, signal.Nanosecond)
	if c.Format == OneShot125 {
		idle := oneShotIdle
		if c.WithNeutral {
			idle = oneShotNeutral
		}
		c.Idle, c.Full = cmp.Or(c.Idle, idle), cmp.Or(c.Full, oneShotFull)
	}
	return c
}

// eighths returns how long so many eighths of a bit take, rounded to the nanosecond.
func (c Throttle) eighths(n int64) signal.Time {
	rate := c.Format.rate()
	return signal.Time((n*125_000 + rate/2) / rate)
}

// Longest returns how long the longest command takes on the wire, from its first edge to its
// last; 0 where the format is not known.
func (c Throttle) Longest() signal.Time {
	c = c.withDefaults()
	switch {
	case c.Format >= ThrottleFormats:
		return 0
	case c.Format.Digital():
		return c.eighths((dshotBits-1)*8 + eighthsOne)
	case c.WithNeutral:
		return max(c.Full, 2*c.Idle-c.Full)
	}
	return max(c.Idle, c.Full)
}

// Lowest returns the lowest command: 0, or -1 where the line carries both senses.
func (c Throttle) Lowest() float64 {
	if c.Format.Digital() && c.TwoDirection || !c.Format.Digital() && c.WithNeutral {
		return -1
	}
	return 0
}

// Resolution returns the smallest difference of command that the wire carries: 1/1999 of a
// digital frame, 1/999 in two directions, and Step over the span from Idle to Full of a pulse.
func (c Throttle) Resolution() float64 {
	c = c.withDefaults()
	switch {
	case c.Format.Digital():
		return 1 / float64(c.values())
	case c.Idle == c.Full:
		return 0
	}
	return float64(c.Step) / math.Abs(float64(c.Full-c.Idle))
}

// values returns how many steps a digital command has in one sense.
func (c Throttle) values() int64 {
	if c.TwoDirection {
		return dshotMost - dshotMiddle
	}
	return dshotMost - dshotLeast
}

// check returns what is wrong with c, whose defaults are filled in.
func (c Throttle) check() error {
	if c.Format >= ThrottleFormats {
		return fmt.Errorf("%v is not known; use one of %v", c.Format, throttleWords)
	}
	longest, rest := c.Longest(), signal.Time(1)
	if c.Format.Digital() {
		rest = c.eighths((dshotBits+restBits)*8) - longest
	} else if err := c.checkPulse(); err != nil {
		return err
	}
	if c.Frame < longest+rest {
		return fmt.Errorf("a command every %v, but one takes %v and the rest behind it %v; write a lower rate", c.Frame, longest, rest)
	}
	return nil
}

// checkPulse returns what is wrong with the widths of a pulse.
func (c Throttle) checkPulse() error {
	switch {
	case c.Idle <= 0 || c.Full <= 0:
		return fmt.Errorf("pulse of %v at idle and %v at full; write both above zero", c.Idle, c.Full)
	case c.Idle == c.Full:
		return fmt.Errorf("idle and full are both %v wide; write two different widths", c.Idle)
	case c.WithNeutral && 2*c.Idle <= c.Full:
		return fmt.Errorf("neutral of %v leaves no pulse for full reverse, as full is %v; write a longer neutral", c.Idle, c.Full)
	case c.Step < 0 || c.Step > max(c.Full-c.Idle, c.Idle-c.Full):
		return fmt.Errorf("widths in steps of %v; write at least 0 s and at most what lies between idle and full", c.Step)
	}
	return nil
}

// ThrottleFrame is one command as it went on the wire.
type ThrottleFrame struct {
	Start   signal.Time // first edge
	End     signal.Time // last edge, from which on the controller can know the command
	Command float64     // as encoded: clipped and rounded to the wire's resolution
}

// ThrottleEncoder sends a speed controller its commands: a pulse or frame begins at each
// point of a grid and carries the command of that moment. Its line is at rest at first: low, or
// high where it is inverted.
//
// The line keeps the last level that was played, and a digital controller repeats its last command
// until it misses them for long: whoever wants a motor at rest plays idle, and sees for
// himself that it has come to rest.
type ThrottleEncoder struct {
	grid
	cfg    Throttle
	line   [1]signal.Line
	silent bool

	word  uint32      // of the digital frame under way, 16 bits
	width signal.Time // of the pulse under way
	edge  int         // the next edge of what is under way
	edges int         // how many it has
	sent  ThrottleFrame
	any   bool
}

// NewThrottle returns the encoder that cfg declares, on line, with commands that begin at
// offset, offset+Frame and so on. offset is not negative. The error says which value is wrong.
func NewThrottle(cfg Throttle, line signal.Line, offset signal.Time) (*ThrottleEncoder, error) {
	cfg = cfg.withDefaults()
	if err := cfg.check(); err != nil {
		return nil, err
	}
	if offset < 0 {
		return nil, fmt.Errorf("throttle commands begin at %v; begin at 0 s or later", offset)
	}
	return &ThrottleEncoder{grid: grid{next: offset, period: cfg.Frame}, cfg: cfg, line: [1]signal.Line{line}}, nil
}

// Line returns the line of the commands.
func (e *ThrottleEncoder) Line() signal.Line { return e.line[0] }

// Lines returns the same in a slice, which is the encoder's own.
func (e *ThrottleEncoder) Lines() []signal.Line { return e.line[:] }

// Level returns the level of line at the end of the last span; false for another line.
func (e *ThrottleEncoder) Level(line signal.Line) bool {
	return line == e.line[0] && (e.edge&1 == 1) != e.cfg.Inverted
}

// SetSilent says whether nothing is sent: from the next point of the grid on there are no
// commands, until the silence ends. One that has begun is finished.
func (e *ThrottleEncoder) SetSilent(silent bool) { e.silent = silent }

// Sent returns the command that began last; ok is false before the first. Its End may lie
// behind the end of the last span.
func (e *ThrottleEncoder) Sent() (f ThrottleFrame, ok bool) { return e.sent, e.any }

// Resolution returns the smallest difference of command that the wire carries.
func (e *ThrottleEncoder) Resolution() float64 { return e.cfg.Resolution() }

// Encoded returns what becomes of a command on the wire: clipped to 0..1, or to -1..1 where
// the line carries both senses, and rounded to its resolution. NaN becomes 0.
func (e *ThrottleEncoder) Encoded(command float64) float64 {
	if e.cfg.Format.Digital() {
		n := e.steps(command)
		return float64(n) / float64(e.cfg.values())
	}
	return float64(e.Width(command)-e.cfg.Idle) / float64(e.cfg.Full-e.cfg.Idle)
}

// clip returns the command that a line can carry; NaN is idle.
func (e *ThrottleEncoder) clip(command float64) float64 {
	switch lowest := e.cfg.Lowest(); {
	case command >= 1:
		return 1
	case command <= lowest:
		return lowest
	case math.IsNaN(command):
		return 0
	}
	return command
}

// Width returns how wide the pulse of a command is; 0 of a digital format.
func (e *ThrottleEncoder) Width(command float64) signal.Time {
	if e.cfg.Format.Digital() {
		return 0
	}
	steps := math.Round(e.clip(command) * float64(e.cfg.Full-e.cfg.Idle) / float64(e.cfg.Step))
	return e.cfg.Idle + signal.Time(steps)*e.cfg.Step
}

// steps returns a digital command in steps, negative backwards.
func (e *ThrottleEncoder) steps(command float64) int64 {
	return int64(math.Round(e.clip(command) * float64(e.cfg.values())))
}

// Word returns the 16 bits of the digital frame of a command, the first on top: eleven of value,
// one that asks for telemetry, and a checksum of four. It is 0 of a pulse.
func (e *ThrottleEncoder) Word(command float64) uint16 {
	if !e.cfg.Format.Digital() {
		return 0
	}
	n := e.steps(command)
	value := int64(0)
	switch {
	case n == 0 && e.cfg.StopIsIdle:
	case e.cfg.TwoDirection && (n >= 0) != e.cfg.ForwardLower:
		value = dshotMiddle + max(n, -n)
	default:
		value = dshotLeast + max(n, -n)
	}
	top := uint16(value) << 1
	if e.cfg.Ask {
		top |= 1
	}
	sum := top ^ top>>4 ^ top>>8
	if e.cfg.Inverted {
		sum = ^sum
	}
	return top<<4 | sum&0xF
}

// Append appends the edges in [from, to) and returns the extended slice. What begins in the
// span carries command, a share of full in the sense of [ThrottleEncoder.Encoded]; it may end
// in a later span. Spans follow on each other: commands that would have begun before from are left
// out, and one that was under way before a gap ends, unfinished, at from.
func (e *ThrottleEncoder) Append(dst []signal.Edge, from, to signal.Time, command float64) []signal.Edge {
	if to <= from {
		return dst
	}
	if e.edge < e.edges && e.at(e.edge) < from {
		if e.edge&1 == 1 {
			dst = append(dst, signal.Edge{At: from, Line: e.line[0], Level: e.cfg.Inverted})
		}
		e.edge, e.edges = 0, 0
	}
	e.Skip(from)
	for {
		for ; e.edge < e.edges; e.edge++ {
			at := e.at(e.edge)
			if at >= to {
				return dst
			}
			dst = append(dst, signal.Edge{At: at, Line: e.line[0], Level: (e.edge&1 == 0) != e.cfg.Inverted})
		}
		e.edge, e.edges = 0, 0
		if e.next >= to {
			return dst
		}
		if !e.silent {
			e.begin(command)
		}
		e.next += e.period
	}
}

// begin begins the next command.
func (e *ThrottleEncoder) begin(command float64) {
	e.any, e.sent = true, ThrottleFrame{Start: e.next, Command: e.Encoded(command)}
	if e.cfg.Format.Digital() {
		e.word, e.edges = uint32(e.Word(command)), 2*dshotBits
	} else {
		e.width, e.edges = e.Width(command), 2
	}
	e.sent.End = e.at(e.edges - 1)
}

// at returns the time of an edge of what is under way.
func (e *ThrottleEncoder) at(edge int) signal.Time {
	if !e.cfg.Format.Digital() {
		return e.sent.Start + signal.Time(edge)*e.width
	}
	bit := edge / 2
	eighths := int64(8 * bit)
	if edge&1 == 1 {
		eighths += eighthsZero
		if e.word>>(dshotBits-1-bit)&1 == 1 {
			eighths += eighthsOne - eighthsZero
		}
	}
	return e.sent.Start + e.cfg.eighths(eighths)
}
