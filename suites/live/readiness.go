package live

import (
	"slices"
	"strings"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
)

// Readiness is what was found so far of a machine, its wires and its board, before its
// motors are powered. It is used by one goroutine at a time.
type Readiness struct {
	Of       *Wired
	Wires    pinout.Wires
	Loopback bool // jumpers stand in for the board
	Pins     bool // they are this machine's, not a rehearsal's

	Lines  preflight.Circuit  // nil where they were not opened
	Open   func() error       // opens the lines anew; nil where they can be shared
	Worker *supervisor.Worker // this process, where a supervisor started it; nil where none did
	Found  string             // path of a file for what it found; empty where none is kept
	Person preflight.Person   // nil where nobody is there

	Tried
	Tripped bool
}

// Tried is what was tried and what came of it. A worker hands it over to the supervisor's side.
type Tried struct {
	Began, Left     []string // stages that began, and what was not tried
	Wrong, Warnings int      // findings
	Spared          int      // so many of Left no motor waits for: what is left alone before the board
	Asked           bool     // the interlock was tried
	Passed          interlock.Parts
}

// Over says whether the supervisor has had this process end.
func (r *Readiness) Over() bool { return r.Worker != nil && r.Worker.Why() != "" }

// Begins says whether a stage may begin, and notes that it does, or that it is left out as
// something is wrong already.
func (r *Readiness) Begins(stage string) bool {
	if r.Wrong > 0 || r.Over() {
		r.Left = append(r.Left, stage)
		return false
	}
	r.Began = append(r.Began, stage)
	return true
}

// Count takes a finding into account.
func (r *Readiness) Count(f preflight.Result) {
	switch f.Grade {
	case preflight.Wrong:
		r.Wrong++
	case preflight.Warning:
		r.Warnings++
	case preflight.NotTried:
		r.Left = append(r.Left, f.Check)
	}
}

// Stages returns the stages that the worker goes through before the rotation.
func (r *Readiness) Stages() []string {
	names := []string{"pins", "board", "stop", "relay"}
	switch {
	case r.Of.Stand: // what it plays moves the motor, and it sends nothing of itself that is tried
		names = []string{"pins", "stop", "relay"}
	case r.Loopback:
		names = []string{"pins", "loopback", "board", "stop", "relay"}
	case r.Of.Power > interlock.SignalsOnly:
		names = []string{"pins", "board", "throttle", "stop", "relay"}
	}
	if r.Pins {
		names = append([]string{"lines"}, names...)
	}
	return names
}

// Driving does something that moves lines one by one, under the supervisor's eyes.
func (r *Readiness) Driving(try func() []preflight.Result) (found []preflight.Result) {
	supervised, ok := r.Lines.(interface{ Driving(what func()) error })
	if !ok {
		return try()
	}
	if err := supervised.Driving(func() { found = try() }); err != nil {
		return Failed(err)
	}
	return found
}

// Lend gives the lines back while something else has them, and takes them again.
func (r *Readiness) Lend(to func() []preflight.Result) []preflight.Result {
	if r.Open == nil {
		return to()
	}
	err := r.Lines.Close()
	r.Lines = nil
	if err != nil {
		return Failed(err)
	}
	found := to()
	if err := r.Open(); err != nil {
		r.Lines = nil
		found = append(found, Failed(err)...)
	}
	return found
}

// patience is how long a person may take to reach the stop contact.
const patience = 60 * signal.Second

// TryStop has the stop contact moved.
func (r *Readiness) TryStop() []preflight.Result {
	switch {
	case r.Wires.Stop == 0:
		return NotTried("stop input", "the file names none under interlock")
	case r.Person == nil:
		return NotTried("stop input", "nobody is there to move it")
	}
	r.Asked = true
	if err := r.HandOver(); err != nil { // what comes now may end for good, and is to count then
		return Failed(err)
	}
	f := preflight.TryStop(r.Lines, &r.Wires, r.Person, patience)
	r.Passed.Stop = f.Grade == preflight.Well
	return []preflight.Result{f}
}

// TryRelay has the relay close and open.
func (r *Readiness) TryRelay() []preflight.Result {
	w := &r.Wires
	switch {
	case w.Stop == 0 || w.Relay == 0 || w.Heartbeat == 0:
		return NotTried("relay", "the file does not name stop, relay and heartbeat under interlock")
	case r.Person == nil:
		return NotTried("relay", "nobody is there to see whether it closes")
	}
	found := preflight.TryRelay(r.Lines, w, r.Person)
	ok := !slices.ContainsFunc(found, func(f preflight.Result) bool { return f.Grade != preflight.Well })
	r.Passed.Relay, r.Passed.Heartbeat = ok, ok
	return found
}

// NotTried is what is found where something could not be tried.
func NotTried(check, says string) []preflight.Result {
	return []preflight.Result{{Check: check, Grade: preflight.NotTried, Says: says}}
}

// Motors says whether enough was tried for the way the motors are to be powered.
func (r *Readiness) Motors() []preflight.Result {
	f := preflight.Result{Check: "motors_powered", Says: r.Of.Power.String()}
	if missing := r.Left[r.Spared:]; r.Of.Power > interlock.SignalsOnly && len(missing) > 0 {
		f.Grade = preflight.Wrong
		f.Says += ", and not everything was tried: " + strings.Join(missing, ", ")
		f.Remedy = "try it with somebody there, or write motors_powered: signals_only"
	}
	return []preflight.Result{f}
}

// OpenLines opens the lines of this machine one by one, for a worker under a supervisor. Where it
// cannot, that is a finding.
func (r *Readiness) OpenLines(model pinout.Model, parts *supervisor.Parts) []preflight.Result {
	r.Open = func() error {
		lines, err := raspberry.OpenLines(model)
		if err != nil {
			return err
		}
		r.Lines = r.Worker.Try(lines, parts)
		return nil
	}
	if err := r.Open(); err != nil {
		r.Lines = nil
		return Failed(err)
	}
	return []preflight.Result{{Check: "lines", Says: "opened by " + model.Limits().Access.String()}}
}
