package stimulus

import "hilrig/rig/signal"

// FaultKind says what is wrong with a wire.
type FaultKind uint8

// The signal faults.
const (
	Lost          FaultKind = iota // nothing on the wire: its level stays
	Stuck                          // frames and pulses go on, their value freezes to the bit; an encoder stands still
	Noisy                          // the value has noise of By rms, every frame anew
	Spike                          // Frames frames carry the value plus By
	WrongChecksum                  // every Every-th frame has a wrong checksum
	Delayed                        // the value comes By seconds late
	Reversed                       // the value has the wrong sign; an encoder counts backwards
	Swapped                        // this wire carries what With should, and the other way about
	Glitch                         // Rate times a second the level of a line turns over for Width
	Jitter                         // each edge comes early or late, by By seconds rms
	FailsafeFlag                   // a receiver's bus: frames go on with the failsafe flag set
	SequenceStuck                  // frames go on with live values, and the counter in them stands still
	BadPulse                       // Frames pulses of a receiver's channel are Width wide, which stands for no value
)

var faultNames = [...]string{"lost", "stuck", "noisy", "spike", "wrong_checksum", "delayed", "reversed", "swapped", "glitch", "jitter", "failsafe_flag", "sequence_stuck", "bad_pulse"}

// FaultKinds lists the words for faults, in the order of the constants.
func FaultKinds() []string { return faultNames[:] }

// String returns the fault's word.
func (k FaultKind) String() string { return faultNames[k] }

// Fault is one thing that is wrong with one wire for a while.
//
// A wire is a receiver channel ("steer", "throttle", "gain"), a serial port
// ("yaw_serial"), a wheel's encoder ("rear_left") or, for Lost, Stuck, Glitch and
// Jitter, one of its lines ("rear_left_a").
//
// Glitch and Jitter work on levels, whatever they carry: edges keep their order, and
// no level repeats. A trace lists pulses and frames as they were before.
type Fault struct {
	Kind     FaultKind
	Wire     string
	Channel  string      // of a serial port: the channel whose value it falls on, one that the port carries; where empty, what its first message carries first
	With     string      // Swapped: the other wire, of the same sort
	From, To signal.Time // [From, To), from the program's start
	By       float64     // Noisy and Spike: in the SI unit of the wire's value (encoder: rad/s); Delayed and Jitter: s
	Frames   int         // Spike and BadPulse: how many frames or pulses, at least 1; an encoder: ticks
	Every    int         // WrongChecksum: 1 every frame, 2 every second…; 0 means 1
	Rate     float64     // Glitch: how many a second, on the mean; the gaps are spread evenly over 0 to 2/Rate
	Width    signal.Time // Glitch and BadPulse
}

// Bump is a short change of load on one wheel, as a wheel that meets a stone and
// leaves the ground has it. Closed loop only.
type Bump struct {
	Wheel    int         // in the order front left, front right, rear left, rear right
	From, To signal.Time // from the program's start
	Load     float64     // factor on the wheel's load, 0 in the air to 1 as it is
}

// GridMove moves the frame grids of all receiver channels and serial sensors later by By, less
// whole frames of each, at the first frame from At on, so that trials meet them at every phase.
type GridMove struct {
	At signal.Time // from the program's start
	By signal.Time // 0 or more
}
