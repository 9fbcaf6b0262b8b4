package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hilrig/plant"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/live"
)

// spotterPatience is for a person who goes to plug in another speed controller first: the
// relay is open meanwhile.
const spotterPatience = 10 * time.Minute

// turn is what the worker under the supervisor does: one turn after the other. In a rehearsal with
// a bank of its own no person looks at the motors.
func (f *readyFlags) turn(c *cobra.Command, w *supervisor.Worker, setup *suites.Setup, real *suites.Real, parts supervisor.Parts, own bool) error {
	r := &readiness{screen: screenOn(c.OutOrStdout())}
	t, limit := live.FirstTurns(setup, f.bank != "")
	var who preflight.Spotter = &rehearsedSpotter{r, t}
	if !own {
		who = &spotter{attendedBy(c), t, spotterPatience}
	}
	if err := live.PlaySupervised(w, setup, real, parts, limit); err != nil {
		return err
	}
	preflight.TryRotation(who, func(plant.Wheel) preflight.Result { return t.Turn(c.Context()) }, func(found preflight.Result) {
		if w.Why() == "" { // else the supervisor says what is wrong
			r.tell(found)
		}
	})
	switch {
	case r.Wrong > 0:
		return endWith(exitNoGo)
	case len(r.Left) > 0:
		return endWith(exitNotShown)
	}
	return nil
}

// spotter is a person who looks at the motors.
type spotter struct {
	*person
	turner   *live.Turner
	patience time.Duration
}

// wheelNamed is a wheel's name in a sentence, "front left".
func wheelNamed(w plant.Wheel) string { return strings.ReplaceAll(w.String(), "_", " ") }

// Go asks for a wheel to be looked at. What was written before the question does not
// count.
func (s *spotter) Go(w plant.Wheel) error {
	fmt.Fprintf(s.out, "\n  %s: look at this wheel alone, or its motor's shaft, from a safe distance, the stop button\n  within reach. After go the relay closes, and %.2g s later the motors turn for %.2g s.\n", wheelNamed(w), s.turner.Before().Seconds(), s.turner.Of.Hold.Seconds())
	s.unsaid()
	word, err := s.choose("Everybody is clear, and it may turn: go or no?", s.patience, "go", "no", "n")
	if err == nil && word != "go" {
		return errNotLet
	}
	return err
}

// sights are the words for what was seen.
var sights = map[string]preflight.Sight{
	"y": preflight.Forward, "yes": preflight.Forward, "n": preflight.Backward, "no": preflight.Backward,
	"none": preflight.Motionless, "other": preflight.Another,
}

// Saw asks what was seen of it.
func (s *spotter) Saw(w plant.Wheel) (preflight.Sight, error) {
	word, err := s.choose("Did "+wheelNamed(w)+" turn forward, yes or no? (none: it did not turn; other: another one did in its place)", s.patience, "y", "yes", "n", "no", "none", "other")
	return sights[word], err
}

// rehearsedSpotter looks at motors in memory: they turn as they are commanded.
type rehearsedSpotter struct {
	out    *readiness
	turner *live.Turner
}

// Go lets a wheel turn.
func (s *rehearsedSpotter) Go(w plant.Wheel) error {
	fmt.Fprintf(s.out, "  > %s is looked at: go\n", wheelNamed(w))
	return nil
}

// Saw looks at the command.
func (s *rehearsedSpotter) Saw(w plant.Wheel) (preflight.Sight, error) {
	saw, word := preflight.Motionless, "does not turn"
	switch mean := s.turner.Mean[w]; {
	case mean > 0:
		saw, word = preflight.Forward, "turns forward, as commanded"
	case mean < 0:
		saw, word = preflight.Backward, "turns backward, as commanded"
	}
	fmt.Fprintf(s.out, "  > %s %s\n", wheelNamed(w), word)
	return saw, nil
}
