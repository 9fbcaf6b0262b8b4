package main

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/live"
)

// foundKey is the variable that names the file in which the player under the guard leaves
// what it found.
const foundKey = "HILRIG_READY_FOUND"

// guardAll has everything tried that drives a line, by players under a guard, one before the
// motors have their supply and one after. The error is how the command ends.
func (r *readiness) guardAll(c *cobra.Command, setup *suites.Setup) error {
	if r.wrong > 0 {
		r.left = append(r.left, r.stagesOnLines()...)
	} else if err := r.wiresUnderGuard(); err != nil {
		return err
	}
	if !r.loopback {
		if r.bench.Power > interlock.SignalsOnly {
			r.stage("rotation", r.rotation)
		}
		r.stage("motors", r.motors)
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

// stagesOnLines returns the stages that the player goes through before the rotation.
func (r *readiness) stagesOnLines() []string {
	names := []string{"pins", "board", "stop", "relay"}
	switch {
	case r.loopback:
		names = []string{"pins", "loopback", "board", "stop", "relay"}
	case r.bench.Power > interlock.SignalsOnly:
		names = []string{"pins", "board", "throttle", "stop", "relay"}
	}
	if r.pins {
		names = append([]string{"lines"}, names...)
	}
	return names
}

// wiresUnderGuard has the player try lines, board, stop contact and relay. The guard holds
// relay and heartbeat meanwhile, and makes all lines safe however the player ends.
func (r *readiness) wiresUnderGuard() error {
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
		_ = os.Remove(r.found) // a few bytes that may stay
		r.found = ""
	}()
	r.found = found.Name()
	r.env = append(r.env, foundKey+"="+r.found)
	ending, err := r.runGuarded(supervisor.Settings{
		Parts: parts, Power: interlock.SignalsOnly, Confirmed: true, Untested: true, Proof: r.person != nil,
	}, partWires)
	r.took(ending, err)
	return nil
}

// took takes over what the player found, and says what it could not say itself.
func (r *readiness) took(ending supervisor.Ending, err error) {
	before := len(r.left)
	kept, unread := r.fetch()
	if ending.Tripped || err != nil || unread != nil {
		r.passed.Stop, r.passed.Relay, r.passed.Heartbeat = false, false, false
	}
	switch {
	case ending.Tripped:
		r.tripped = true
		r.tell(preflight.Finding{Check: "interlock", Grade: preflight.Wrong, Says: "the interlock tripped: " + ending.Why, Cure: cureTrip})
	case unread != nil && err == nil:
		r.tell(preflight.Finding{Check: "player", Grade: preflight.Wrong, Says: "ended with " + ending.Worker, Cure: "see what it said"})
	}
	if err != nil {
		r.tell(live.Failed(err)[0])
	}
	for _, name := range r.stagesOnLines() {
		if !slices.Contains(kept.Began, name) && !slices.Contains(r.left[before:], name) {
			r.left = append(r.left, name)
		}
	}
	if r.asked && r.note != nil {
		if err := r.note(r.passed); err != nil {
			r.tell(live.Failed(err)[0])
		}
	}
}

// kept is what a player found.
type kept struct {
	Began, Left             []string
	Wrong, Doubtful, Spared int
	Asked                   bool
	Stop, Relay, Heartbeat  bool // passed
}

// keep leaves what was found so far to the guard's side.
func (r *readiness) keep() error {
	if r.found == "" {
		return nil
	}
	data, err := json.Marshal(kept{
		Began: r.began, Left: r.left, Wrong: r.wrong, Doubtful: r.doubtful, Spared: r.spared,
		Asked: r.asked, Stop: r.passed.Stop, Relay: r.passed.Relay, Heartbeat: r.passed.Heartbeat,
	})
	if err == nil {
		err = os.WriteFile(r.found, data, 0o600)
	}
	if err != nil {
		return fmt.Errorf("what was found is not kept: %w", err)
	}
	return nil
}

// fetch takes over what the player kept. The error says why that is not known.
func (r *readiness) fetch() (kept, error) {
	var k kept
	data, err := os.ReadFile(r.found)
	if err == nil {
		err = json.Unmarshal(data, &k)
	}
	if err != nil {
		return kept{}, err
	}
	r.spared = len(r.left) + k.Spared
	r.left = append(r.left, k.Left...)
	r.wrong += k.Wrong
	r.doubtful += k.Doubtful
	r.asked = k.Asked
	r.passed.Stop, r.passed.Relay, r.passed.Heartbeat = k.Stop, k.Relay, k.Heartbeat
	return k, nil
}
