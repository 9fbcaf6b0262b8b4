package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/live"
)

// How the motors turn for the first time.
const (
	firstHold = signal.Second
	// wake is for the speed controllers, whose supply comes with the relay: they sound their
	// start and want idle meanwhile (common practice, no source).
	wake = 3 * signal.Second
	// wakeMemory is for none.
	wakeMemory = 100 * signal.Millisecond
	// spotterPatience is for a person who goes to plug in another speed controller first: the
	// relay is open meanwhile.
	spotterPatience = 10 * time.Minute
)

// turn is what the player under the guard does: one turn after the other.
func (f *readyFlags) turn(c *cobra.Command, w *supervisor.Worker, names []string) error {
	setup, err := f.load(c, names)
	if err != nil {
		return err
	}
	throttle, limit := preflight.FirstTurn(setup.Bench.Interlock.MotorLimit)
	t := turner{setup: setup, of: suites.Turn{Throttle: throttle, Wake: wakeMemory, Hold: firstHold}}
	r := &readiness{screen: screenOn(c.OutOrStdout())}
	var who preflight.Spotter
	bank, path, named := strings.Cut(f.bank, ":")
	switch {
	case bank == "":
		t.of.Wake = wake
		who = &spotter{attendedBy(c), &t, spotterPatience}
	case named:
		who = &spotter{attendedBy(c), &t, spotterPatience}
	default:
		path = os.Getenv(rehearsedKey)
		who = &rehearsedSpotter{r, &t}
	}
	real, parts, err := turningOn(setup.Bench, bank, path)
	if err != nil {
		return err
	}
	if bank != "" { // no motor turns, and this machine's lateness may pass for throttle
		limit = live.Limit(setup.Bench.Interlock.MotorLimit)
	}
	if err := live.PlayGuarded(w, setup, real, parts, limit); err != nil {
		return err
	}
	preflight.TryRotation(who, func(plant.Wheel) preflight.Finding { return t.turn(c) }, func(found preflight.Finding) {
		if w.Why() == "" { // else the guard says what is wrong
			r.tell(found)
		}
	})
	switch {
	case r.wrong > 0:
		return endWith(exitNoGo)
	case len(r.left) > 0:
		return endWith(exitNotShown)
	}
	return nil
}

// turningOn returns the bench on which motors turn, and its lines: with a bank the file at
// path, without one this machine's pins.
func turningOn(b *file.Bench, bank, path string) (*suites.Real, supervisor.Parts, error) {
	switch {
	case bank == "":
		return live.Pinned(b, thisPi())
	case path == "":
		return nil, supervisor.Parts{}, errors.New("the rehearsal has no bank")
	}
	return live.InFile(b, path, turns)
}

// turner has the motors turn.
type turner struct {
	setup *suites.Setup
	of    suites.Turn
	// Of the last turn: what was commanded, and how well the bench kept time.
	mean   [4]float64
	timing rig.Timing
}

// turn plays one turn and judges what was commanded.
func (t *turner) turn(c *cobra.Command) preflight.Finding {
	turned, err := t.setup.Turn(c.Context(), t.of)
	if err != nil {
		return failed(err)[0]
	}
	t.timing = turned.Timing
	var found preflight.Finding
	found, t.mean = preflight.Gentle(turned.Trace, t.setup.Bench.Wiring.Motors, t.of.Throttle, slackOf(&t.setup.Bench.Wiring.Throttle, turned.Timing), turned.From, turned.To, turned.Idle)
	return found
}

// throttle has the board command what the rotation will have it command, while no motor has
// its supply: up to three times, where the machine did not keep time.
func (r *readiness) throttle(c *cobra.Command, setup *suites.Setup) []preflight.Finding {
	throttle, _ := preflight.FirstTurn(setup.Bench.Interlock.MotorLimit)
	t := turner{setup: setup, of: suites.Turn{Throttle: throttle, Hold: firstHold}}
	found := t.turn(c)
	for try := 0; try < 2 && found.Grade == preflight.Wrong && t.timing.Uncertain+t.timing.LateCount > 0; try++ {
		found = t.turn(c)
	}
	return []preflight.Finding{found}
}

// slackOf returns by how much of a throttle's range lateness may have moved it, one edge
// of a pulse being late and the other not; 0 where the throttle is no pulse.
func slackOf(p *wire.Pulse, t rig.Timing) float64 {
	span := p.High - p.Low
	if span == 0 {
		return 0
	}
	return math.Abs(float64(t.Late+t.Gap) / float64(span) * (p.HighValue - p.LowValue))
}

// spotter is a person who looks at the motors.
type spotter struct {
	*person
	turner   *turner
	patience time.Duration
}

// wheelNamed is a wheel's name in a sentence, "front left".
func wheelNamed(w plant.Wheel) string { return strings.ReplaceAll(w.String(), "_", " ") }

// Go asks for a wheel to be looked at. What was written before the question does not
// count.
func (s *spotter) Go(w plant.Wheel) error {
	fmt.Fprintf(s.out, "\n  %s: look at this wheel alone, or its motor's shaft, from a safe distance, the stop button\n  within reach. After go the relay closes, and %.2g s later the motors turn for %.2g s.\n", wheelNamed(w), s.turner.setup.Before(s.turner.of).Seconds(), s.turner.of.Hold.Seconds())
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
	turner *turner
}

// Go lets a wheel turn.
func (s *rehearsedSpotter) Go(w plant.Wheel) error {
	fmt.Fprintf(s.out, "  > %s is looked at: go\n", wheelNamed(w))
	return nil
}

// Saw looks at the command.
func (s *rehearsedSpotter) Saw(w plant.Wheel) (preflight.Sight, error) {
	saw, word := preflight.Motionless, "does not turn"
	switch mean := s.turner.mean[w]; {
	case mean > 0:
		saw, word = preflight.Forward, "turns forward, as commanded"
	case mean < 0:
		saw, word = preflight.Backward, "turns backward, as commanded"
	}
	fmt.Fprintf(s.out, "  > %s %s\n", wheelNamed(w), word)
	return saw, nil
}
