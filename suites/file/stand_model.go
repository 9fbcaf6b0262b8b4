package file

import (
	"slices"

	"hilrig/assertions/characteristic"
	"hilrig/rig/decode"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// Stand is a stand file: a speed controller under test, what is played on its throttle line,
// what is measured of the motor, and what its owner accepts.
type Stand struct {
	Source   language.Source
	Name     string
	About    string // in a sentence; may be empty
	Kind     string // what plays it: "simulated" or "raspberry"
	Tick     signal.Time
	Throttle StandThrottle

	// What measures the motor; nil or empty where the file does not declare it.
	SpinUp    *SpinUp
	LoadCell  *LoadCell
	Telemetry *Telemetry
	Bus       []BusSensor
	CSV       *Dynamometer  // it stands alone: nothing is played, its rows are judged
	Sources   []StandSource // what measures, in the file's order

	Supply Supply
	Held   []HeldCondition // the held conditions in the file's order, one for each speed
	Plan   StandPlan
	StopAt StopAt
	Limits characteristic.Limits

	Header
	Power interlock.Power // how the motor is powered; signals_only where left out
	// Disc is what turns on the shaft; nil: not declared. See [Stand.Overshoot].
	Disc *Disc

	notes language.Warnings // what was odd when it was read
}

// StandThrottle is the throttle line that the rig plays.
type StandThrottle struct {
	Motor decode.Motor   // the format, as that of a bench's motors
	Rate  float64        // commands a second, Hz; above 0
	Arm   []ThrottleHold // what the controller wants to see before it turns the motor
}

// ThrottleHold is a command that is held.
type ThrottleHold struct {
	Level float64 // -1..1
	For   signal.Time
}

// Toleranced is a declared number in SI units. The true one lies within Tolerance of it
// either way, anywhere alike (a rectangular distribution, JCGM 100, 4.3.7).
type Toleranced struct{ Value, Tolerance float64 }

// StandSource is what measures the motor.
type StandSource uint8

// The sources. FromNothing is none.
const (
	FromNothing StandSource = iota
	FromSpinUp
	FromLoadCell
	FromTelemetry
	FromBus
	FromCSV
)

var standSourceWords = [...]string{"nothing", "spin_up", "load_cell", "telemetry", "bus_sensor", "file"}

// String returns the source's key, "spin_up".
func (s StandSource) String() string { return standSourceWords[s] }

// SpinUp measures torque as inertia times angular acceleration plus drag.
type SpinUp struct {
	Encoder ShaftEncoder
	Inertia *Toleranced // kg m^2, of all that turns; nil: not known, torque is known as a share of full torque
	Coast   Coast
}

// ShaftEncoder is the encoder on the motor's shaft.
type ShaftEncoder struct {
	Lines     int     // of a quadrature encoder a turn, four edges each; 0: a tacho
	Pulses    int     // of a tacho a turn; 0: a quadrature encoder
	Reverse   bool    // B leads A when the shaft turns ahead
	LineError float64 // rad; how far an edge may lie from its place, either way
}

// Coast is what the controller does with the motor at idle.
type Coast uint8

// The ways to coast.
const (
	Freewheels Coast = iota // the phases are open: what slows the shaft is drag
	Brakes                  // the controller brakes: drag is not known
	Unplugged               // a person takes the motor off its controller for the coast
)

var coastWords = [...]string{"freewheels", "brakes", "unplugged"}

// String returns the word of the file.
func (c Coast) String() string { return coastWords[c] }

// LoadCell measures torque as force on a lever arm, by a 24-bit converter on two wires.
type LoadCell struct {
	Clocks    int         // of one reading, 25 to 27: gain and input of the next
	Rate      float64     // conversions a second, Hz
	Zero      float64     // counts without load
	Span      [2]CellLoad // calibration; its slope is counts per kg
	Arm       Toleranced  // m
	Reverse   bool        // counts fall as the motor pushes ahead
	DropAfter signal.Time // a clock that is high for longer powers the converter down: that reading is dropped
}

// CellLoad is what the converter says under a known mass.
type CellLoad struct {
	Counts    float64
	Mass      float64 // kg
	Tolerance float64 // kg, either way
}

// CurrentOf says which current is measured.
type CurrentOf uint8

// The currents. NoCurrent is none.
const (
	NoCurrent CurrentOf = iota
	SupplyCurrent
	PhaseCurrent
)

var currentWords = [...]string{"none", "supply", "phase"}

// String returns the word of the file.
func (c CurrentOf) String() string { return currentWords[c] }

// MotorCurrent is what makes torque of a current: a phase current times TorqueConstant; of a
// supply current voltage times current less the loss in the winding, over mechanical speed.
type MotorCurrent struct {
	Current           CurrentOf
	TorqueConstant    *Toleranced // N m/A; nil: not declared
	WindingResistance *Toleranced // ohm; nil: not declared
}

// Telemetry is what the controller says of itself, in frames of ten bytes.
type Telemetry struct {
	Baud int
	// PolePairs is by what electrical speed is divided for that of the shaft; 1 where the
	// frames carry the shaft's.
	PolePairs int
	MotorCurrent
}

// BusQuantity is what a converter on I2C measures.
type BusQuantity uint8

// The quantities.
const (
	BusCurrent BusQuantity = iota
	BusVoltage
)

var busQuantityWords = [...]string{"current", "voltage"}

// String returns the word of the file.
func (q BusQuantity) String() string { return busQuantityWords[q] }

// BusSensor is a register of a converter on I2C: its value is count times Scale plus Offset.
type BusSensor struct {
	Device       string // "/dev/i2c-1"
	Address      int    // 7 bits
	Quantity     BusQuantity
	Register     int
	Width        int // bytes, 1 to 4
	LittleEndian bool
	Signed       bool
	Shift        int     // bits on the right that carry no value
	Scale        float64 // A or V per count
	Offset       float64 // A or V
	Rate         float64 // readings a second, Hz
	MotorCurrent         // of a current
}

// Dynamometer is a CSV file of somebody's dynamometer.
type Dynamometer struct {
	Source language.Source
	Path   string           // as the stand file writes it
	Levels [][]float64      // of each held condition the commands, ascending, each once
	Rows   []DynamometerRow // in the file's order
	// HasSpeed says that the file has a column of speed.
	HasSpeed bool
}

// DynamometerRow is one row.
type DynamometerRow struct {
	Line      int     // of the file, from 1
	Level     int     // index into the Levels of Held
	Command   float64 // as it stands in the row, -1..1
	Torque    float64 // N m
	Speed     float64 // rad/s; not a number without a column
	Direction characteristic.Direction
	Cycle     int // from 0
	Held      int // index into the stand's held conditions
}

// Supply is what feeds the controller.
type Supply struct {
	Voltage *float64 // V, without load; nil: not declared
	Sag     *float64 // ohm; by how much the voltage falls for each ampere; nil: not declared
	// SagAtFull is by how much the voltage falls at full throttle in the one held condition, V; nil: not declared.
	SagAtFull    *float64
	MeasuredBy   StandSource // what measures the voltage; FromNothing: it is not measured
	CurrentLimit *float64    // A, at which the supply holds its current; nil: none is known
}

// HeldKind is what is held while levels are read.
type HeldKind uint8

// The kinds.
const (
	AtSpeed HeldKind = iota // the shaft has a speed: run through, or held by a brake
	Locked                  // the shaft stands still
	Inertia                 // the mean acceleration of the inertia from rest to a speed
)

var heldWords = [...]string{"speed", "locked", "inertia"}

// String returns the word of the file.
func (k HeldKind) String() string { return heldWords[k] }

// HeldBy is what holds a speed.
type HeldBy uint8

// What holds a speed.
const (
	ByRunUp HeldBy = iota // nothing: each level is run up through the speed
	ByBrake               // a brake, which the file says holds it
)

var heldByWords = [...]string{"spin_up", "brake"}

// String returns the word of the file.
func (b HeldBy) String() string { return heldByWords[b] }

// HeldCondition is what is held while levels are read.
type HeldCondition struct {
	Kind       HeldKind
	Speed      float64     // rad/s; of AtSpeed, and where Inertia ends; 0 of Locked
	By         HeldBy      // of AtSpeed
	LevelLimit signal.Time // of Locked: no level lasts longer
	Place      language.Place
}

// StandPlan is what is played.
type StandPlan struct {
	Levels []float64 // commands, ascending; from 0 up, or from below it where the controller turns both ways
	Cycles int       // up and down once each
	Drawn  bool      // the levels of each way come in an order that is drawn by the seed
	// Of a staircase: how long a level is held, of which the mean is over the last Window, and
	// the rest at idle between two levels.
	Dwell, Window, Rest signal.Time
	Margin              float64 // of a run-up: the share of the highest held speed by which it goes beyond
	// FineAt are the commands about which small changes are tried, FineSteps their sizes, ascending.
	FineAt, FineSteps []float64
	StartStep         float64 // by how much the command rises in the search for the first that moves the shaft
	Step              *ThrottleStep
	FirstAgain        bool // the first point, the highest level, is read before all others and again after them
}

// ThrottleStep is a step of throttle whose answer is timed.
type ThrottleStep struct {
	From, To float64
	Hold     signal.Time // at each
}

// StopAt is what ends a run at idle at once; nil: not bounded.
type StopAt struct {
	Speed         *float64    // rad/s, of the shaft, either way
	Current       *float64    // A
	Temperature   *float64    // degrees Celsius
	LowestVoltage *float64    // V
	Time          signal.Time // since the first level; always bounded
}

// Disc is what turns on the shaft, a wheel or a disc.
type Disc struct {
	Rated        float64 // rad/s; it never turns faster
	Acceleration float64 // rad/s^2, at most, at full throttle
}

// Plays says whether anything is played: not where the file of a dynamometer is judged.
func (s *Stand) Plays() bool { return !slices.Contains(s.Sources, FromCSV) }

// Turns says whether a shaft turns on the stand: everything but a file and a locked shaft.
func (s *Stand) Turns() bool {
	for i := range s.Held {
		if s.Held[i].Kind != Locked && s.Plays() {
			return true
		}
	}
	return false
}

// Layout returns the stand's lines, in the order of [signal.StandRoles].
func (s *Stand) Layout() signal.Layout {
	has := map[signal.Role]bool{
		signal.ThrottleCommand: s.Plays(),
		signal.CellClock:       s.LoadCell != nil,
		signal.CellData:        s.LoadCell != nil,
		signal.ESCTelemetry:    s.Telemetry != nil,
	}
	if s.SpinUp != nil {
		tacho := s.SpinUp.Encoder.Pulses > 0
		has[signal.ShaftA], has[signal.ShaftB], has[signal.ShaftTacho] = !tacho, !tacho, tacho
	}
	var l signal.Layout
	for _, role := range signal.StandRoles() {
		if !has[role] {
			continue
		}
		line := signal.Spec(role, signal.NoWheel)
		if role == signal.ThrottleCommand {
			line.Idle = s.Throttle.Motor.Inverted()
		}
		l.Lines = append(l.Lines, line)
	}
	return l
}
