package file

import (
	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/language"
)

// Car is a car file: the car and the owner's policy.
type Car struct {
	Source  language.Source
	Name    string
	Car     plant.Car
	Policy  law.Policy
	Asked   []string // policy keys that the file has, sorted
	Guessed []Guess  // what the short form left to hilrig

	places    map[string]language.Place // of the policy's keys
	wheelbase language.Place            // of the car's
	demanded  language.Place            // of the wheelbase in the policy's demand
	measured  map[string]language.Place // of numbers that implausible looks at, the zero place where the file has none
}

// Guess is one value that the file left out and hilrig filled in.
type Guess struct {
	Key   string // "yaw_inertia"
	Value string // "0.26 kg m2"
	From  string // "mass, wheelbase and track of a uniform box"
}

// Bench is a bench file.
type Bench struct {
	Source language.Source
	Name   string
	Wiring rig.Wiring
	// SteerPulses are, on a receiver bus, the pulses that the low and the high count
	// of steer stand for; see [Complete].
	SteerPulses [2]signal.Time
	Board       BoardLife
	Timing      TimingModel // of a simulated bench
	// MotorRate is how often a second the board sends its commands, Hz; 0: not declared.
	MotorRate float64
	Power     interlock.Power // how the motors are powered; signals_only where left out
	// Substituted is what the firmware on this bench takes from another source than the
	// car's own firmware does: "yaw", "wheel_speed", "receiver".
	Substituted []string

	Kind string // what plays it: "simulated" or "raspberry"
	Header

	// Computer is the Pi whose limits the bench keeps to; NoPi: not known. See [Bench.Limits].
	Computer pinout.Model

	notes language.Warnings         // what was odd when it was read
	ports map[string]language.Place // of the ports' names
	rest  restPlaces
}

// Header says what is on which pin of a Pi's header.
type Header struct {
	// Pins are GPIO numbers, 2 to 27, by the names of the layout's lines; "reset" is
	// that of the board's reset. On a Raspberry Pi every line has one, save those of
	// ports on a USB adapter. nil where the file names none.
	Pins map[string]int
	// Devices are the device files of serial ports by the ports' names.
	Devices   map[string]string
	Interlock Interlock

	odd language.Warnings // about the pins
}

// Interlock is what stands between the rig and a powered motor. Pins are GPIO numbers;
// 0: not wired.
type Interlock struct {
	Stop      int // input; high while the stop contact is closed, low when it opens or its wire breaks
	Relay     int // output; high closes the relay of the motors' supply
	Heartbeat int // output; its edges keep the dead-man relay closed
	// MotorLimit is the share of full command beyond which powered motors lose their
	// supply, 0..1; 0: not declared.
	MotorLimit float64
	Supply     int // input; high while the motors' supply is on behind what opens it
	// V, F and ohm of the supply and what empties it; 0: not declared.
	Pack, Capacitance, Bleed float64
	Coast                    signal.Time // for which motors may go on turning; 0: not declared
}

// BoardLife says how a board comes up and what it is fed between cases.
type BoardLife struct {
	Reset        string      // "line", "relay" or "none"
	ReadyAfter   signal.Time // at rest, after power-up
	Arm          []Held      // what it wants to see after that, one after the other, before it lets the motors turn
	BetweenCases Held
}

// Held is what is played for a time. What the file does not say rests.
type Held struct {
	stimulus.Values
	For signal.Time
}

// Suite is a suite file, its cases expanded.
type Suite struct {
	Source language.Source
	Name   string
	About  string
	// AnyPolicy says that what the car's policy says too little for is not asked; else that is
	// a mistake in the suite.
	AnyPolicy bool
	Cases     []Case
	Logs      []language.Source // the drive logs that its cases replay, in order of first use

	notes language.Warnings // what was odd when it was read
}

// Case is one case after expansion: every value is a number.
type Case struct {
	Name    string // as written
	About   string // as written; may be empty
	Variant string // "turn left, speed 4 m/s"; empty without each
	Place   language.Place
	UpTo    interlock.Power
	Closed  bool // the board's commands drive the plant
	Compare bool // closed loop: played with the shift, without, and without a board
	PowerUp bool // the board is restarted at the case's start, with no rest
	// Missing is what the bench lacks of what the case faults, "no wire front_left_a", where
	// the case says that it is skipped then; empty: nothing.
	Missing string
	// Points says what the values come to that are written as points of the policy, "gain 34 %,
	// throttle 30 %"; NoPoint why the policy has no such point, and nothing is asked. Empty: none is written; there is.
	Points, NoPoint string
	noPosition      bool // for want of a position of the trim
	Repeat          int  // closed loop: how often it is played, each with other phases and noise; 0 means once
	Steps           []Step
	Expect          []Expectation
}

// Step is one stretch of a case. Values are held from its beginning; for
// Settle nothing is measured, then for Observe it is.
type Step struct {
	Name            string
	Baseline        bool
	Settle, Observe signal.Time
	Values          stimulus.Values // a yaw rate that the file writes as a share of the demand is worked out
	Demand          float64         // rad/s, by the policy; 0 where the policy has no demand
	points          points          // the values that are written as points
	noPoint         string          // why there is no speed and steer angle like those; empty: there is
	lowered         bool            // the speed was lowered to keep the demand short of its limits
	limited         bool            // the demand stands at its limit, whatever the file writes
	calm            bool            // its values move, and the policy asks for a clear shift too rarely
	taken           float64         // how many times as fast as the car by its slipping wheels firmware takes it to go; 0: as fast
	own             bool            // the yaw rate is a share of that with which the car itself goes round
	Wheels          [4]*float64     // rad/s, where the case overrides the hub rule
	Slip            [4]float64      // by what share of its free-rolling rate each wheel turns faster
	Place           language.Place

	Shapes []Moving         // channels that follow a shape in this step, from its beginning
	Faults []stimulus.Fault // signal faults; times from the step's beginning, To 0: to its end
	Bumps  []stimulus.Bump  // times from the step's beginning
	Trials *Trials          // the step is a series of trials instead of a hold
	Sweep  *Sweep           // the step is a slow sweep instead of a hold
}

// Moving is one channel with the shape that it follows. Beyond a shape's end
// its last value holds.
type Moving struct {
	Channel trace.Channel
	Shape   stimulus.Shape
}

// Trials changes one channel to and fro, each change at a drawn moment.
type Trials struct {
	Channel  trace.Channel
	Levels   [2]float64  // SI; the first is the step's held value
	Count    int         // changes
	Interval signal.Time // from change to change, at least; the drawn delay comes on top
}

// Sweep takes one channel slowly from one value to another and back, within the
// step's window.
type Sweep struct {
	Channel  trace.Channel
	From, To float64 // SI
}

// Expectation is one check with its place in the file.
type Expectation struct {
	Check assertions.Check
	Place language.Place
	// LastLine is the last line of the expectation's YAML, for excerpts.
	LastLine int
	// NotAsked is why nothing is asked here, "the policy has no demand"; empty: something may be.
	NotAsked string
}
