package stand

import "hilrig/rig/signal"

// Settings say what a stand is made of. Start from [Demo]; the zero value is not valid.
type Settings struct {
	// Layout has the stand's lines, which are found by their roles. What has no line is left out,
	// but the throttle.
	Layout    signal.Layout
	Throttle  Throttle
	Pack      Pack
	Motor     Motor
	Load      Load
	Encoder   Encoder
	Cell      Cell
	Telemetry Telemetry
	Converter Converter
	Held      Held
	Seed      uint64
}

// Format is how throttle commands come.
type Format uint8

// The formats.
const (
	ServoPulse Format = iota // a pulse, 1000 to 2000 us where no widths are declared
	OneShot125               // the same, 125 to 250 us
	DShot150                 // frames of 16 bits at 150 kbit/s
	DShot300
	DShot600
	formats
)

// Throttle says what the throttle's line carries.
type Throttle struct {
	Format       Format
	Idle, Full   signal.Time // widths of the commands 0 and 1; both 0 stand for the format's
	WithNeutral  bool        // of pulses: Idle is the middle, and as far on the other side of it as Full is -1
	Inverted     bool        // the line rests high; a frame's checksum is inverted too
	TwoDirection bool        // of frames: 48 to 1047 are one sense of rotation, 1048 to 2047 the other
	ForwardLower bool        // with TwoDirection, 48 to 1047 are ahead
	StopIsIdle   bool        // the rig sends 0 for idle; the controller takes 0 as idle always
}

// Pack is the battery or the supply.
type Pack struct {
	Voltage      float64 // V, without load
	Resistance   float64 // ohm, 0 or more
	CurrentLimit float64 // A: from there on the voltage gives way; 0 means none
}

// Motor is a motor with its friction.
type Motor struct {
	Resistance     float64 // ohm
	TorqueConstant float64 // N m/A, and V s/rad of back-EMF
	Coulomb        float64 // N m, while it turns
	Stiction       float64 // N m, at rest; at least Coulomb
	Viscous        float64 // N m s/rad
	Cogging        float64 // N m, amplitude
	CoggingPeriods int     // of the cogging torque in a turn; with Cogging, at least 1
	PolePairs      int     // electrical turns in one of the shaft
}

// Load is what the motor turns.
type Load struct {
	Inertia float64 // kg m2, motor and disc
	// Hand lists speeds, in rad/s, to which a person spins the shaft up, one after the other, each
	// once the shaft has coasted down from the one before, while the throttle's line is
	// silent; the motor is unplugged meanwhile. Empty: nobody does.
	Hand []float64
}

// Encoder is the sensor on the shaft.
type Encoder struct {
	Lines        int     // in a turn, of an encoder with two lines, A leading B ahead; four counts each
	Pulses       int     // in a turn, of a tacho
	LineError    float64 // standard deviation of where an edge lies, in lines (or pulses); 0 to 0.1
	Eccentricity float64 // rad: amplitude of the error that comes once a turn; 0 to 0.01
	Backwards    bool    // its two lines are swapped
}

// Held says what holds the shaft.
type Held struct {
	Kind  HeldKind
	Speed float64 // rad/s, above 0, at which the brake of [AtSpeed] holds the shaft
}

// HeldKind is a way to hold the shaft.
type HeldKind uint8

// The ways to hold the shaft.
const (
	Free    HeldKind = iota // it turns with its inertia alone
	AtSpeed                 // a brake lets it turn no faster than at a speed; it cannot drive it
	Locked                  // it does not turn; the clamp takes the whole torque of the motor, friction aside
)

// Cell is the load cell at the end of the brake's arm with its converter: 24 bits, two wires.
// It measures the brake's reaction, averaged over one conversion.
type Cell struct {
	Arm       float64 // m
	Scale     float64 // counts for one newton at the gain of 25 clocks, below 0 where they fall; 27 clocks have half of that
	Offset    float64 // counts
	Noise     float64 // counts, standard deviation
	Creep     float64 // counts/s by which the offset grows
	Rate      float64 // readings in a second: 10 or 80
	Mass      float64 // kg that hangs on the cell beside what the brake does, for calibration
	Unplugged bool    // the converter: its data line rests high
	Open      bool    // the cell: the converter reads its end of range
}

// Telemetry is what the controller sends of itself: ten bytes, 8N1.
type Telemetry struct {
	Baud   int         // symbols a second; 0 means 115200
	Period signal.Time // from frame to frame, longer than a frame; 0 means 20 ms
	Phase  bool        // the current is the winding's, and not the pack's
	Noise  float64     // A, standard deviation of the current
}

// Converter is a converter for the pack's voltage and a current on I2C, with registers of 16
// bits, the upper byte first.
type Converter struct {
	Address uint16
	Voltage Register
	Current Register
	Phase   bool        // the current is the winding's, and not the pack's
	Period  signal.Time // of a conversion, over which it takes the mean; 0 means 2 ms
	Absent  bool        // nobody answers at the address
}

// Register is one register of a [Converter].
type Register struct {
	Number byte
	Scale  float64 // V or A of one count; 0 means that the register does not exist
	Signed bool    // two's complement
}
