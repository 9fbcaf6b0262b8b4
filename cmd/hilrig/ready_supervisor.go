package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/live"
)

// foundKey is the variable that names the file in which the worker under the supervisor leaves
// what it found.
const foundKey = "HILRIG_READY_FOUND"

// superviseAll has everything tried that drives a line, by workers under a supervisor, one before the
// motors have their supply and one after. The error is how the command ends.
func (r *readiness) superviseAll(c *cobra.Command, setup *suites.Setup) error {
	if r.Wrong > 0 {
		r.Left = append(r.Left, r.Stages()...)
	} else if err := r.wiresUnderSupervisor(); err != nil {
		return err
	}
	if !r.Loopback {
		if r.Of.Power > interlock.SignalsOnly && !r.Of.Stand {
			r.stage("rotation", r.rotation)
		}
		r.stage("motors", r.Motors)
	}
	return r.end()
}

// tidy makes safe what an earlier run left otherwise, before a person is asked anything.
func (r *readiness) tidy(c *cobra.Command) error {
	parts, err := r.turning()
	if err != nil {
		return nil // it is said where lines are to be driven
	}
	state, err := stateFolder()
	if err != nil {
		return err
	}
	return tidy(c, &parts, state)
}

// wiresUnderSupervisor has the worker try lines, board, stop contact and relay. The supervisor holds
// relay and heartbeat meanwhile, and makes all lines safe however the worker ends.
func (r *readiness) wiresUnderSupervisor() error {
	parts, err := r.turning()
	if err != nil {
		r.tell(live.Failed(err)[0])
		return nil
	}
	found, err := os.CreateTemp("", "hilrig")
	if err != nil {
		return fmt.Errorf("ready: a place for what is found: %w", err)
	}
	found.Close()
	defer func() {
		_ = os.Remove(r.Found) // a few bytes that may stay
		r.Found = ""
	}()
	r.Found = found.Name()
	r.env = append(r.env, foundKey+"="+r.Found)
	ending, err := r.runSupervised(supervisor.Settings{
		Parts: parts, Power: interlock.SignalsOnly, Confirmed: true, Untested: true, Proof: r.Person != nil,
	}, partWires)
	r.took(ending, err)
	return nil
}

// took takes over what the worker found, and notes what passed.
func (r *readiness) took(ending supervisor.Ending, err error) {
	for _, f := range r.Took(ending, err) {
		r.tell(f)
	}
	if r.Asked && r.note != nil {
		if err := r.note(r.Passed); err != nil {
			r.tell(live.Failed(err)[0])
		}
	}
}
