package decode

import "hilrig/rig/signal"

// Servo declares a motor command sent as a servo pulse.
type Servo struct {
	Idle signal.Time // width that stands for 0
	Full signal.Time // width that stands for 1
	// WithNeutral says that widths on the other side of Idle are commands down to -1.
	WithNeutral bool
	Inverted    bool        // the pulse is low
	Least, Most signal.Time // a pulse outside is Short or Overlong; 0: 500 us and 2500 us
	LostAfter   signal.Time // no pulse for this long is Lost; 0: 100 ms
	MaxDoubt    float64     // a pulse less certain than this half-width, share of range, is Uncertain and left out; 0: 0.02
}
