// Package signal is the vocabulary of wires: times, lines, ports and edges.
//
// Everything that passes between the rig and a board under test is an [Edge]:
// one change of level on one [Line] at one [Time]. A serial line is also a
// [Port], on which the rig sends bytes and the bench turns them into levels.
// A [Layout] is the table of the lines and ports of one bench; a [Line] or
// [Port] is an index into it, so that the tick path compares small integers
// and never names.
//
// # Units and signs
//
// Times are whole nanoseconds since the run began. Level true is high.
// Directions are seen from the rig.
//
// This package imports nothing of the project.
package signal

import (
	"math"
	"slices"
	"strconv"
)

// Time is a point in time or a span, in nanoseconds since the run began.
type Time int64

// Spans of time.
const (
	Nanosecond  Time = 1
	Microsecond Time = 1000 * Nanosecond
	Millisecond Time = 1000 * Microsecond
	Second      Time = 1000 * Millisecond
)

// Seconds returns t in seconds.
func (t Time) Seconds() float64 { return float64(t) / float64(Second) }

// String returns t in seconds with the digits that it needs, "1.0245 s".
func (t Time) String() string {
	return strconv.FormatFloat(t.Seconds(), 'f', -1, 64) + " s"
}

// FromSeconds returns the Time nearest to s seconds. s has to be finite and
// within ±9.2e9 s.
func FromSeconds(s float64) Time { return Time(math.Round(s * float64(Second))) }

// Line is one wire: an index into [Layout.Lines].
type Line uint16

// Port is one serial port: an index into [Layout.Ports].
type Port uint8

// Edge is one change of level on one line.
//
// The true time of the change lies in (At-Uncertainty, At]: a sampler that saw the
// new level at At saw the old one no sooner than Uncertainty earlier. A driven edge has Uncertainty 0.
// A captured edge to the level that its line has already, with Uncertainty above 0, is
// a gap: the sampler did not look in (At-Uncertainty, At), and what the line did meanwhile
// is not known.
// At 16 bytes an edge, streams of them stay in the cache.
type Edge struct {
	At          Time
	Uncertainty uint32 // ns, 0 to 4.29 s
	Line        Line
	Level       bool
}

// LateStretch is a stretch in which driven edges were late on their wires.
type LateStretch struct {
	From, To Time // from when the first of them was due until the last was played
	Worst    Time // by which one was late, at most
	Count    int64
}

// Direction says who drives a line, seen from the rig.
type Direction uint8

// The two directions of a line.
const (
	Drive   Direction = iota // the rig puts levels out
	Capture                  // the rig reads what the board puts out
)

// String returns "drive" or "capture".
func (d Direction) String() string {
	if d == Capture {
		return "capture"
	}
	return "drive"
}

// LineSpec is one row of the table of lines.
type LineSpec struct {
	Name      string // snake case: steer, front_left_a, yaw_serial, motor_rear_right
	Direction Direction
	Idle      bool // level at rest and at power-up
	Role      Role
	Wheel     Wheel // whose sensor or motor it is
}

// Parity is the parity bit of a serial line.
type Parity uint8

// The parities of a serial line.
const (
	NoParity Parity = iota
	EvenParity
	OddParity
)

// PortSpec is one serial port on which the rig sends. 8 data bits, least
// significant first.
type PortSpec struct {
	Name     string
	Line     Line // the line that carries its levels
	Baud     int  // bits per second, 300 to 12e6
	Parity   Parity
	StopBits int  // 1 or 2; 0 means 1
	Inverted bool // idle low, start bit high

	// Asked says that the board sends bytes too, on the captured line Input, in the
	// same form.
	Asked bool
	Input Line
}

// RequestName is the name of the captured line on which the board sends.
func (p PortSpec) RequestName() string { return p.Name + "_request" }

// Layout is the table of the lines and ports of one bench. It does not change
// while a bench is open.
type Layout struct {
	Lines []LineSpec
	Ports []PortSpec
}

// Line returns the line called name; ok is false where there is none.
func (l Layout) Line(name string) (line Line, ok bool) {
	return l.first(func(s LineSpec) bool { return s.Name == name })
}

// Find returns the first line of that role at that wheel; ok is false where there is none.
func (l Layout) Find(role Role, wheel Wheel) (line Line, ok bool) {
	return l.first(func(s LineSpec) bool { return s.Role == role && s.Wheel == wheel })
}

func (l Layout) first(is func(LineSpec) bool) (line Line, ok bool) {
	i := slices.IndexFunc(l.Lines, is)
	return Line(max(i, 0)), i >= 0
}

// Responder answers edges with edges within about a microsecond, as a sensor
// does that the board reads as bus master (I2C, SPI). It runs inside the
// sampler's loop or the simulated bench's event loop, and must not block or
// allocate. It is called with every edge of the lines that it was registered
// for, in order of time, and appends its answers to dst, none earlier than
// the edge it was given.
type Responder interface {
	Respond(e Edge, dst []Edge) []Edge
}

// Timed is a [Responder] that also acts when no edge comes.
type Timed interface {
	Responder
	// Until tells that there are no further edges before t, and appends the
	// answers as Respond does, none earlier than the last edge.
	Until(t Time, dst []Edge) []Edge
}

// Disturber changes when the edges of one line come, and adds some: what a bad
// wire does to the levels of a port.
type Disturber interface {
	// Pass takes the line's edges in [from, to) and appends those to be played in
	// that span, in order of time, each a change of level. Spans follow on each other.
	Pass(dst, edges []Edge, from, to Time) []Edge
	// Drop forgets what is still to come and returns the level played last. The line
	// is at rest afterwards.
	Drop() (level bool)
}
