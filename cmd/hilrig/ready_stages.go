package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/suites"
	"hilrig/suites/live"
)

// readiness is what was found so far, and where it is reported.
type readiness struct {
	*screen
	live.Readiness
	note func(interlock.Parts) error // notes what of the interlock passed; nil for a rehearsal

	rotating
}

// stage tries one thing, unless something is wrong already.
func (r *readiness) stage(name string, try func() []preflight.Result) {
	if !r.Begins(name) {
		return
	}
	fmt.Fprintf(r, "\n%s\n", name)
	found := try()
	for _, f := range found {
		r.tell(f)
	}
	if err := r.HandOver(); err != nil {
		r.tell(live.Failed(err)[0])
	}
}

// tell writes a finding and counts it. After a trip it is the supervisor that says what is wrong.
func (r *readiness) tell(f preflight.Result) {
	if r.Over() {
		return
	}
	r.Count(f)
	fmt.Fprintf(r, "  %-9s  %-24s  %s\n", f.Grade, f.Check, f.Says)
	word := "cure"
	if f.Grade == preflight.Warning {
		word = "note"
	}
	if f.Remedy != "" {
		fmt.Fprintf(r, "  %-9s  %-24s  %s: %s\n", "", "", word, f.Remedy)
	}
}

// warned shows the cautions. It says whether to go on.
func (r *readiness) warned() bool {
	fmt.Fprint(r, live.Cautions)
	if r.Loopback {
		fmt.Fprintln(r, "  - Unplug the board. Lay jumpers from wheel sensors' lines to motor lines, behind the level shifters.")
	}
	p, ok := r.Person.(*person)
	if !ok {
		return true
	}
	yes, err := p.ask("All of it is done, and I go on: yes or no?")
	if err == nil && yes {
		return true
	}
	r.Wrong++
	fmt.Fprintln(r, "\nnot confirmed; no pin was touched")
	return false
}

// onLines tries what can be tried once the lines are open. Put puts the setup on the bench on
// which rest is played to the board.
//
// The worker does it under a supervisor, and nothing of it where something is wrong already.
func (r *readiness) onLines(c *cobra.Command, setup *suites.Setup, put func() error) {
	w := &r.Wires
	r.stage("pins", func() []preflight.Result {
		return r.Driving(func() []preflight.Result { return preflight.TryPins(r.Lines, w) })
	})
	r.Spared = len(r.Left)
	if r.Loopback {
		r.stage("loopback", func() []preflight.Result { return r.Driving(r.jumpers) })
		r.Left = append(r.Left, "board", "stop", "relay")
		return
	}
	if !r.Of.Stand {
		r.stage("board", func() []preflight.Result {
			return r.Lend(func() []preflight.Result { return board(c, setup, put) })
		})
	}
	if r.Of.Power > interlock.SignalsOnly && !r.Of.Stand {
		r.stage("throttle", func() []preflight.Result {
			return r.Lend(func() []preflight.Result { return live.TryThrottle(c.Context(), setup) })
		})
	}
	r.stage("stop", r.TryStop)
	r.stage("relay", r.TryRelay)
}

// jumpers tells where jumpers lead.
func (r *readiness) jumpers() []preflight.Result {
	found, jumpers := preflight.Loopback(r.Lines, &r.Wires)
	for _, j := range jumpers {
		fmt.Fprintf(r, "  %-18s  %-6s  pin %-2d  ->  %-18s  %-6s  pin %d\n", j.From.Signal, pinout.GPIO(j.From.GPIO), j.From.Position, j.To.Signal, pinout.GPIO(j.To.GPIO), j.To.Position)
	}
	return found
}

// board plays rest to the board, on the bench that put puts the setup on, and judges what it
// sends.
func board(c *cobra.Command, setup *suites.Setup, put func() error) []preflight.Result {
	if err := put(); err != nil {
		return live.Failed(err)
	}
	return live.TryBoard(c.Context(), setup)
}

// end writes the outcome.
func (r *readiness) end() error {
	fmt.Fprintln(r)
	if len(r.Left) > 0 {
		fmt.Fprintf(r, "not tried: %s\n", strings.Join(r.Left, ", "))
	}
	if r.Wrong > 0 {
		fmt.Fprintf(r, "NOT READY  %s wrong\n", count(r.Wrong, "thing"))
		if r.Tripped {
			return endWith(exitTripped)
		}
		return endWith(exitNotShown)
	}
	says := "for motors_powered: " + r.Of.Power.String()
	if r.Loopback {
		says = "as far as lines and jumpers go: plug the board in and be ready anew"
	}
	if r.Warnings > 0 {
		says += fmt.Sprintf(", %s: see the notes", count(r.Warnings, "warning"))
	}
	fmt.Fprintln(r, "READY  "+says)
	return nil
}
