package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/live"
)

// readiness is what was found so far.
type readiness struct {
	*screen
	bench    *file.Bench
	wires    pinout.Wires
	lines    preflight.Circuit  // nil: not opened
	open     func() error       // opens lines anew; nil: they can be shared
	worker   *supervisor.Worker // this process, where a guard started it; nil: none did
	found    string             // path of a file for what it found
	began    []string           // stages
	person   preflight.Person
	loopback bool

	wrong, doubtful int
	left            []string // not tried
	spared          int      // so many of them no motor waits for: what is left alone before the board

	passed interlock.Parts
	asked  bool                        // the interlock was tried
	note   func(interlock.Parts) error // notes what of the interlock passed; nil: a rehearsal

	rotating
}

// stage tries one thing, unless something is wrong already.
func (r *readiness) stage(name string, try func() []preflight.Finding) {
	if r.wrong > 0 || r.over() {
		r.left = append(r.left, name)
		return
	}
	r.began = append(r.began, name)
	fmt.Fprintf(r, "\n%s\n", name)
	found := try()
	for _, f := range found {
		r.tell(f)
	}
	if err := r.keep(); err != nil {
		r.tell(live.Failed(err)[0])
	}
}

// over says whether the guard has had this process end.
func (r *readiness) over() bool { return r.worker != nil && r.worker.Why() != "" }

// tell writes a finding and counts it. After a trip it is the guard that says what is wrong.
func (r *readiness) tell(f preflight.Finding) {
	if r.over() {
		return
	}
	switch f.Grade {
	case preflight.Wrong:
		r.wrong++
	case preflight.Doubtful:
		r.doubtful++
	case preflight.NotTried:
		r.left = append(r.left, f.Check)
	}
	fmt.Fprintf(r, "  %-9s  %-24s  %s\n", f.Grade, f.Check, f.Says)
	word := "cure"
	if f.Grade == preflight.Doubtful {
		word = "note"
	}
	if f.Cure != "" {
		fmt.Fprintf(r, "  %-9s  %-24s  %s: %s\n", "", "", word, f.Cure)
	}
}

// cautions stand before anything that touches a pin.
const cautions = `
Before a pin is touched:
  - Disconnect the motors' supply. Take the wheels off, or the car off the ground, and clamp it.
  - Power the board's logic alone, from a supply with a limit to its current; take no lithium pack.
  - Join the grounds of board and Pi. The Pi takes 3.3 V and no more at any pin.
  - Keep eyes, hair, sleeves and bystanders clear of whatever could turn.
  - Everything up to the relay is tried like that. Only rotation, the last, asks for the motors'
    supply, in so many words.
  - This program is not a safety device. Be able to remove the power by hand, without it.
    Have the circuit checked by somebody qualified, and follow your local rules.
`

// warned shows the cautions. It says whether to go on.
func (r *readiness) warned() bool {
	fmt.Fprint(r, cautions)
	if r.loopback {
		fmt.Fprintln(r, "  - Unplug the board. Lay jumpers from wheel sensors' lines to motor lines, behind the level shifters.")
	}
	p, ok := r.person.(*person)
	if !ok {
		return true
	}
	yes, err := p.ask("All of it is done, and I go on: yes or no?")
	if err == nil && yes {
		return true
	}
	r.wrong++
	fmt.Fprintln(r, "\nnot confirmed; no pin was touched")
	return false
}

// onLines tries what can be tried once the lines are open.
//
// The player does it under a guard, and nothing of it where something is wrong already.
func (r *readiness) onLines(c *cobra.Command, setup *suites.Setup, put func() error) {
	w := &r.wires
	r.stage("pins", func() []preflight.Finding {
		return r.driving(func() []preflight.Finding { return preflight.TryPins(r.lines, w) })
	})
	r.spared = len(r.left)
	if r.loopback {
		r.stage("loopback", func() []preflight.Finding { return r.driving(r.jumpers) })
		r.left = append(r.left, "board", "stop", "relay")
		return
	}
	r.stage("board", func() []preflight.Finding {
		return r.lend(func() []preflight.Finding { return r.board(c, setup, put) })
	})
	if r.bench.Power > interlock.SignalsOnly {
		r.stage("throttle", func() []preflight.Finding {
			return r.lend(func() []preflight.Finding { return live.TryThrottle(c.Context(), setup) })
		})
	}
	r.stage("stop", r.stop)
	r.stage("relay", r.relay)
}

// driving does something that moves lines one by one, under the guard's eyes.
func (r *readiness) driving(try func() []preflight.Finding) (found []preflight.Finding) {
	guarded, ok := r.lines.(interface{ Driving(what func()) error })
	if !ok {
		return try()
	}
	if err := guarded.Driving(func() { found = try() }); err != nil {
		return live.Failed(err)
	}
	return found
}

// jumpers tells where jumpers lead.
func (r *readiness) jumpers() []preflight.Finding {
	found, jumpers := preflight.Loopback(r.lines, &r.wires)
	for _, j := range jumpers {
		fmt.Fprintf(r, "  %-18s  %-6s  pin %-2d  ->  %-18s  %-6s  pin %d\n", j.From.Signal, pinout.GPIO(j.From.GPIO), j.From.Position, j.To.Signal, pinout.GPIO(j.To.GPIO), j.To.Position)
	}
	return found
}

// lend gives the lines back while something else has them, and takes them again.
func (r *readiness) lend(to func() []preflight.Finding) []preflight.Finding {
	if r.open == nil {
		return to()
	}
	err := r.lines.Close()
	r.lines = nil
	if err != nil {
		return live.Failed(err)
	}
	found := to()
	if err := r.open(); err != nil {
		r.lines = nil
		found = append(found, live.Failed(err)...)
	}
	return found
}

// board plays rest to the board, on the bench that put puts the setup on, and judges what it
// sends.
func (r *readiness) board(c *cobra.Command, setup *suites.Setup, put func() error) []preflight.Finding {
	if err := put(); err != nil {
		return live.Failed(err)
	}
	return live.TryBoard(c.Context(), setup)
}

// patience is how long a person may take to reach the stop contact.
const patience = 60 * signal.Second

// stop has the stop contact moved.
func (r *readiness) stop() []preflight.Finding {
	switch {
	case r.wires.Stop == 0:
		return notTried("stop input", "the bench file names none under interlock")
	case r.person == nil:
		return notTried("stop input", "nobody is there to move it")
	}
	r.asked = true
	if err := r.keep(); err != nil { // what comes now may end for good, and is to count then
		return live.Failed(err)
	}
	f := preflight.TryStop(r.lines, &r.wires, r.person, patience)
	r.passed.Stop = f.Grade == preflight.Well
	return []preflight.Finding{f}
}

// relay has the relay close and open.
func (r *readiness) relay() []preflight.Finding {
	w := &r.wires
	switch {
	case w.Stop == 0 || w.Relay == 0 || w.Heartbeat == 0:
		return notTried("relay", "the bench file does not name stop, relay and heartbeat under interlock")
	case r.person == nil:
		return notTried("relay", "nobody is there to see whether it closes")
	}
	found := preflight.TryRelay(r.lines, w, r.person)
	ok := !slices.ContainsFunc(found, func(f preflight.Finding) bool { return f.Grade != preflight.Well })
	r.passed.Relay, r.passed.Heartbeat = ok, ok
	return found
}

func notTried(check, says string) []preflight.Finding {
	return []preflight.Finding{{Check: check, Grade: preflight.NotTried, Says: says}}
}

// motors says whether enough was tried for the way the motors are to be powered.
func (r *readiness) motors() []preflight.Finding {
	f := preflight.Finding{Check: "motors_powered", Says: r.bench.Power.String()}
	if missing := r.left[r.spared:]; r.bench.Power > interlock.SignalsOnly && len(missing) > 0 {
		f.Grade = preflight.Wrong
		f.Says += ", and not everything was tried: " + strings.Join(missing, ", ")
		f.Cure = "try it with somebody there, or write motors_powered: signals_only"
	}
	return []preflight.Finding{f}
}

// end writes the outcome.
func (r *readiness) end() error {
	fmt.Fprintln(r)
	if len(r.left) > 0 {
		fmt.Fprintf(r, "not tried: %s\n", strings.Join(r.left, ", "))
	}
	if r.wrong > 0 {
		fmt.Fprintf(r, "NOT READY  %s wrong\n", count(r.wrong, "thing"))
		if r.tripped {
			return endWith(exitTripped)
		}
		return endWith(exitNotShown)
	}
	says := "for motors_powered: " + r.bench.Power.String()
	if r.loopback {
		says = "as far as lines and jumpers go: plug the board in and be ready anew"
	}
	if r.doubtful > 0 {
		says += fmt.Sprintf(", %s doubtful: see the notes", count(r.doubtful, "thing"))
	}
	fmt.Fprintln(r, "READY  "+says)
	return nil
}
