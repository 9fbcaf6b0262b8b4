package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// runSupervisor stands before the motors. Tests have supervisor and worker in one process.
var runSupervisor = supervisor.Run

// supervised is what is played in real time under a supervisor.
type supervised struct {
	wired    *live.Wired
	list     []string // what a person confirms
	settings func(wired *live.Wired, parts supervisor.Parts, state string) (supervisor.Settings, error)
	// play puts it, in the worker, on a bench under the supervisor's eyes.
	play func(w *supervisor.Worker, real *suites.Real, parts supervisor.Parts) error
}

// supervisedSetup is a setup under a supervisor.
func supervisedSetup(s *suites.Setup) *supervised {
	return &supervised{
		wired: live.OfBench(s.Bench), list: live.List(s.Bench.Power), settings: live.Settings,
		play: func(w *supervisor.Worker, real *suites.Real, parts supervisor.Parts) error {
			return live.PlaySupervised(w, s, real, parts, live.Limit(s.Bench.Interlock.MotorLimit))
		},
	}
}

// at plays it at a place whose lines it claims.
func (s *supervised) at(c *cobra.Command, place live.Place, attended string) error {
	lines, err := place.Claim(workerOf(c.Context()) != nil)
	if err != nil {
		return behindStopped(c, err, func() (supervisor.Parts, error) { return place.Parts(s.wired) })
	}
	defer live.Release(lines)
	real, parts, err := place.On(s.wired)
	if err != nil {
		return err
	}
	err = s.goLive(c, real, parts, attended, lines)
	if hint := live.LetGoHint(s.wired, place); hint != "" && workerOf(c.Context()) == nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", hint)
	}
	return err
}

// goLive plays it on a bench in real time, under a supervisor. In the process that
// the person started it has the list confirmed, starts the worker and stands before
// the motors until all is over; its error is then how the command ends. In the worker
// it returns nil, and what is played from then on is live. The claim on the lines is
// the supervisor's, which hands it down.
func (s *supervised) goLive(c *cobra.Command, real *suites.Real, parts supervisor.Parts, attended string, lines *claim.Claim) error {
	if w := workerOf(c.Context()); w != nil {
		return s.play(w, real, parts)
	}
	state, err := stateFolder()
	if err != nil {
		return err
	}
	if err := tidy(c, &parts, state); err != nil {
		return err
	}
	if err := confirm(c.Context(), c.InOrStdin(), c.ErrOrStderr(), attended, s.wired.Power, s.list); err != nil {
		if errors.Is(err, errNotConfirmed) {
			fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
			return ended{exitNotShown}
		}
		return err
	}
	settings, err := s.settings(s.wired, parts, state)
	if err != nil {
		return err
	}
	end, err := live.HandDown(&settings, inputsOf(c.Context()), lines)
	if err != nil {
		return err
	}
	defer end()
	ending, err := runSupervisor(settings)
	if err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
	for _, says := range live.NoteEnding(ending, parts.Pins, state) {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", says)
	}
	if ending.Stood > 0 && !ending.Tripped {
		fmt.Fprintf(c.ErrOrStderr(), "hilrig: the interlock lost its timing: it stood still for %d ms\n", ending.Stood/signal.Millisecond)
	}
	switch {
	case ending.Tripped:
		fmt.Fprintf(c.ErrOrStderr(), "hilrig: the interlock tripped: %s (worker: %s)\n", ending.Why, ending.Worker)
		return ended{exitTripped}
	case err != nil && ending.Worker == "":
		return ended{exitWrong}
	case err != nil:
		return ended{exitTripped}
	}
	return ended{ending.Code}
}

// stateFolder returns the folder in which hilrig keeps what it knows of this machine.
func stateFolder() (string, error) {
	home, err := record.Home()
	return filepath.Dir(home), err
}
