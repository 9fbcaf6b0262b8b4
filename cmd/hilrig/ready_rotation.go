package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
)

// partKey is the variable that tells the worker under the supervisor which part of ready it does:
// the rotation, or what comes before it.
const (
	partKey      = "HILRIG_READY_PART"
	partWires    = "wires"
	partRotation = "rotation"
)

// rotating is what the last stage needs, in which motors turn.
type rotating struct {
	spotter      *person // who looks at the motors; nil: nobody, or a rehearsal does
	terminal     bool    // at which the spotter sits
	bank         string  // folder of a rehearsal's own; empty: none
	env          []string
	turning      func() (supervisor.Parts, error)                     // the lines that a supervisor makes safe
	supervised   func(supervisor.Settings) (supervisor.Ending, error) // nil: runSupervisor
	inputs       *live.Inputs                                         // the files of the run, which the worker gets as they were read
	claim        *claim.Claim                                         // on the lines; nil: none
	noteRotation func(right bool) error                               // nil: a rehearsal
	noteEnding   func(supervisor.Ending) []string                     // the same
}

// rehearsedKey is the variable that names the bank of a rehearsal to the worker under the
// supervisor.
const rehearsedKey = "HILRIG_REHEARSED"

// ownBank returns the path of a bank of the rehearsal's own, which a person is not asked about.
func (r *rotating) ownBank() (path string, err error) {
	if r.bank, err = os.MkdirTemp("", "hilrig"); err != nil {
		return "", err
	}
	path = filepath.Join(r.bank, "bank")
	r.spotter, r.env = nil, []string{rehearsedKey + "=" + path}
	return path, nil
}

// forget removes a rehearsal's own bank.
func (r *rotating) forget() {
	if r.bank != "" {
		_ = os.RemoveAll(r.bank) // a few bytes that may stay
	}
}

// rotation has the motors turn for the first time while a person looks which way, a supervisor
// standing before them.
func (r *readiness) rotation() []preflight.Result {
	switch {
	case r.Person == nil:
		return live.NotTried("rotation", "nobody is there to see which way the motors turn")
	case !r.Passed.All():
		return live.NotTried("rotation", "stop input, relay and heartbeat have to pass before")
	case r.spotter != nil && !r.terminal:
		return live.NotTried("rotation", "standard input is no terminal; motors turn only where somebody sits at one")
	}
	power := r.Of.Power
	throttle, limit := preflight.FirstTurn(r.Of.Limit)
	fmt.Fprintf(r, live.TrialText, 100*throttle, 100*limit, power)
	printItems(r, live.TrialList(power))
	if r.spotter != nil {
		yes, err := r.spotter.ask(live.TrialQuestion)
		switch {
		case err != nil:
			return live.NotTried("rotation", err.Error())
		case !yes:
			return live.NotTried("rotation", "not confirmed; no motor had its supply")
		}
	}
	return r.underSupervisor()
}

// underSupervisor starts the worker under a supervisor, and says how it ended.
func (r *readiness) underSupervisor() []preflight.Result {
	parts, err := r.turning()
	if err != nil {
		return live.Failed(err)
	}
	settings := supervisor.Settings{
		Parts: parts, Power: r.Of.Power, Tested: r.Passed, Trial: true, Confirmed: true, Supply: r.Of.SupplyOf(0),
	}
	ending, err := r.runSupervised(settings, partRotation)
	found := r.endingOf(ending, err)
	if r.noteRotation != nil && ending.Worker != "" {
		right := !preflight.AnyWrong(found) && ending.Code == exitGo
		if err := r.noteRotation(right); err != nil {
			found = append(found, live.Failed(err)...)
		}
	}
	if r.noteEnding != nil {
		for _, says := range r.noteEnding(ending) {
			fmt.Fprintln(r, "  "+says)
		}
	}
	return found
}

// runSupervised starts a worker that does a part of ready under a supervisor, and returns how it
// ended. What the person says meanwhile is the worker's.
func (r *readiness) runSupervised(s supervisor.Settings, part string) (supervisor.Ending, error) {
	s.Watching, s.Env = live.Watching(), append(realtime.WorkerEnv(os.Environ()), append(r.env, partKey+"="+part)...)
	if r.spotter != nil {
		input, end, err := r.spotter.pass()
		if err != nil {
			return supervisor.Ending{}, err
		}
		defer end()
		s.Input = input
	}
	end, err := live.HandDown(&s, r.inputs, r.claim)
	if err != nil {
		return supervisor.Ending{}, err
	}
	defer end()
	if r.supervised != nil {
		return r.supervised(s)
	}
	return runSupervisor(s)
}

// endingOf returns what the worker's end says that the worker itself could not.
func (r *readiness) endingOf(ending supervisor.Ending, err error) []preflight.Result {
	wrong := func(says, cure string) []preflight.Result {
		return []preflight.Result{{Check: "rotation", Grade: preflight.Wrong, Says: says, Remedy: cure}}
	}
	switch {
	case ending.Tripped:
		r.Tripped = true
		return append(wrong("the interlock tripped: "+ending.Why, live.TripRemedy), resultsOf(err)...)
	case err != nil:
		return resultsOf(err)
	case ending.Code == exitGo:
		return []preflight.Result{{Check: "rotation", Says: "each of the four turns forward"}}
	case ending.Code == exitNoGo:
		return wrong("not as it should be, as said above", "put it right with the supply taken away by hand, and be ready anew")
	case ending.Code == exitNotShown:
		return live.NotTried("rotation", "not all four were looked at")
	}
	return wrong("the worker ended with "+ending.Worker, "see what it said")
}

// resultsOf is what is found of an error; nothing of none.
func resultsOf(err error) []preflight.Result {
	if err == nil {
		return nil
	}
	return live.Failed(err)
}

// noteIn notes in the folder state which parts of the interlock passed since this machine
// was started, without which nothing goes live with powered motors, and whether each motor was
// seen to turn the right way.
func (r *readiness) noteIn(state string, err error) error {
	r.note = func(passed interlock.Parts) error {
		return supervisor.NoteTested(state, live.InterlockPins(&r.Wires), passed)
	}
	r.noteEnding = func(e supervisor.Ending) []string { return live.NoteEnding(e, live.InterlockPins(&r.Wires), state) }
	r.noteRotation = func(right bool) error {
		return supervisor.NoteRotation(state, r.Of.Motors, right)
	}
	return err
}

// pass has a file bring what the person writes, for another program. End takes the person
// back.
func (p *person) pass() (input *os.File, end func(), err error) {
	input, out, err := os.Pipe()
	if err != nil {
		return nil, nil, fmt.Errorf("the person's answers: %w", err)
	}
	ctx, cancel := context.WithCancel(p.ctx)
	over := make(chan struct{})
	go func() {
		defer close(over)
		defer out.Close()
		for {
			select {
			case line, more := <-p.answers:
				if !more {
					return
				}
				if _, err := fmt.Fprintln(out, line); err != nil { // nobody reads any more
					return
				}
			case <-ctx.Done():
				return
			}
		}
	}()
	return input, func() {
		cancel()
		<-over
		input.Close()
	}, nil
}

// errNotLet says that somebody did not let a wheel turn.
var errNotLet = errors.New("not wanted")
