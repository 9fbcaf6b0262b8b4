// Package trace holds what one case produced: the columns that assertions and
// reports read.
//
// A [Trace] has three kinds of content. Its columns hold one value per tick of
// each [Channel] as the rig played or the plant computed it. Its Sent lists
// hold each pulse and frame that the rig put on a wire, with the time at which
// it took effect there. Its Motors hold each command frame that was captured
// from the board, with the uncertainty that sampling left, and the events: frames
// that were lost, short, overlong or corrupt.
//
// # Units and signs
//
// SI units and ISO 8855 axes: metres, seconds, radians; yaw rate, steer angle
// and lateral acceleration are positive to the left. Motor commands are 0..1
// (one way) or -1..1 (with a neutral). Wheels stand in the order front left,
// front right, rear left, rear right.
//
// # Time
//
// signal.Time, nanoseconds since the run began. Row i of every column belongs
// to the tick that begins at Start + i*Tick.
package trace

import (
	"slices"

	"hilrig/rig/signal"
)

// Channel is one engineering quantity over time.
type Channel uint8

// The channels of a trace. Played: what the rig puts on the wires, before the
// sensor's noise. Motion: what the plant adds in closed loop, 0 in open loop.
const (
	Speed             Channel = iota // m/s, at the centre of gravity, along x
	YawRate                          // rad/s
	Steer                            // rad, mean of both front wheels, as asked of the servo
	Throttle                         // 0..1 or -1..1
	Gain                             // 0..1
	WheelFrontLeft                   // rad/s, positive rolling forward
	WheelFrontRight                  // rad/s
	WheelRearLeft                    // rad/s
	WheelRearRight                   // rad/s
	MotorFrontLeft                   // command, the newest known when the tick was computed
	MotorFrontRight                  // command
	MotorRearLeft                    // command
	MotorRearRight                   // command
	LateralSpeed                     // m/s, along y (motion)
	LongitudinalAccel                // m/s^2, of the centre of gravity, body frame (motion)
	LateralAccel                     // m/s^2 (motion)
	Heading                          // rad (motion)
	PositionX                        // m (motion)
	PositionY                        // m (motion)
	Channels                         // how many there are
)

var names = [Channels]string{
	"speed", "yaw_rate", "steer", "throttle", "gain",
	"wheel_speed.front_left", "wheel_speed.front_right", "wheel_speed.rear_left", "wheel_speed.rear_right",
	"motor.front_left", "motor.front_right", "motor.rear_left", "motor.rear_right",
	"lateral_speed", "longitudinal_acceleration", "lateral_acceleration", "heading", "position_x", "position_y",
}

// String returns the channel's name as it stands in files, "wheel_speed.rear_left".
func (c Channel) String() string { return names[c] }

// ChannelNamed returns the channel with that name; ok is false where there is none.
func ChannelNamed(name string) (c Channel, ok bool) {
	i := slices.Index(names[:], name)
	return Channel(max(i, 0)), i >= 0
}

// Frame is one motor command captured from the board.
type Frame struct {
	Start       signal.Time // first edge
	End         signal.Time // last edge: from here on the command is known
	Value       float64     // 0..1 or -1..1
	Uncertainty float64     // half-width of what the sampler left open, unit of Value; the interval is symmetric about Value
}

// EventKind says what came, or went wrong, on a captured line.
type EventKind uint8

// The events of a captured line.
const (
	Short     EventKind = iota // a pulse or frame too short for the format
	Overlong                   // a pulse or frame too long for the format
	Corrupt                    // a frame whose checksum or coding is wrong
	Lost                       // no frame for longer than the format allows
	Uncertain                  // a pulse too uncertain to be used
	Backwards                  // an edge earlier than the one before it
	Stop                       // a frame that tells the motor to stop: DShot 0
	Command                    // a frame that is no throttle but a command to the speed controller: DShot 1 to 47
	Settled                    // beside a frame in Frames: the sampler left one of its bits open, which its checksum told
)

var eventNames = [...]string{"short", "overlong", "corrupt", "lost", "uncertain", "backwards", "stop", "command", "settled"}

// String returns the event's name, "overlong".
func (k EventKind) String() string { return eventNames[k] }

// Event is one thing on a captured line that is no motor command.
type Event struct {
	At   signal.Time
	Kind EventKind
}

// Output is all that one motor line gave.
type Output struct {
	Frames []Frame // in order of End; of a trace that folds the newest
	Events []Event // in order of At; of a trace that folds the newest

	frames, events *pack // of a trace that folds: the older ones
}

// Sent is one pulse or frame that the rig put on a wire.
type Sent struct {
	Start            signal.Time
	End              signal.Time // a pulse's falling edge, the end of a frame's last stop bit: the value takes effect here
	Value            float64     // as encoded on the wire: after noise, quantisation and clipping, SI unit of its channel
	Bad              bool        // its checksum was made wrong, or its failsafe flag set, on purpose
	Late             signal.Time // by how much End is later than planned, at least
	EndUncertainty   signal.Time // End may be up to this much later
	ValueUncertainty float64     // a pulse's Value may be off by this much, as nobody saw when exactly its edges were on the wire
}

// Delay is a stretch of time in which the rig's own edges were played late.
type Delay struct {
	From  signal.Time // when the first of them was due
	To    signal.Time // when the last was played
	Worst signal.Time // by how much one was late, at least
}

// SentTo names the lists of what was sent.
type SentTo uint8

// The wires whose pulses and frames are listed.
const (
	SentSteer SentTo = iota
	SentThrottle
	SentGain
	SentYawRate
	SentTos // how many there are
)

// Span is a stretch of time.
type Span struct{ From, To signal.Time }

// Trace is what one case produced. Reset makes it ready for the next case and
// keeps its memory: on the tick path nothing is allocated once its slices have
// grown.
type Trace struct {
	Start      signal.Time
	Tick       signal.Time
	Column     [Channels][]float64
	Sent       [SentTos][]Sent
	Motor      [4]Output
	Delays     []Delay // of driven edges, in order of time; see rig.LateFloor
	NotSampled []Span  // when the sampler did not look, for longer than rig.LateFloor, in order of time

	keep   *Fold
	folded *folded // nil where the trace keeps everything as it is
}

// Reset empties the trace for a case that begins at start, and makes room for
// rows ticks, or for the few that it does not fold.
func (t *Trace) Reset(start, tick signal.Time, rows int) {
	t.Start, t.Tick = start, tick
	t.unfold()
	if t.folded != nil {
		rows = min(rows, foldRows)
	}
	for i := range t.Column {
		if cap(t.Column[i]) < rows || t.folded != nil && cap(t.Column[i]) > foldRows {
			t.Column[i] = make([]float64, 0, rows)
		}
		t.Column[i] = t.Column[i][:0]
	}
	for i := range t.Sent {
		t.Sent[i] = t.Sent[i][:0]
	}
	t.Delays, t.NotSampled = t.Delays[:0], t.NotSampled[:0]
	for i := range t.Motor {
		t.Motor[i].Frames = t.Motor[i].Frames[:0]
		t.Motor[i].Events = t.Motor[i].Events[:0]
	}
}
