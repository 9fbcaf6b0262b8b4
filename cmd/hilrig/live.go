package main

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// runGuard stands before the motors. Tests have guard and player in one process.
var runGuard = supervisor.Run

// guardRank is the guard's real-time rank: above what the machine does besides, below
// the loop that plays, which has a processor of its own where there are enough.
const guardRank = 60

// goLive has a setup played on a bench in real time, under a guard. In the process that
// the person started it has the list confirmed, starts the worker and stands before
// the motors until all is over; its error is then how the command ends. In the worker
// it returns nil, and what the setup plays from then on is live. The claim on the lines is
// the guard's, which hands it down.
func goLive(c *cobra.Command, s *suites.Setup, real *suites.Real, parts supervisor.Parts, attended string, lines *claim.Claim) error {
	if w := workerOf(c.Context()); w != nil {
		return playGuarded(w, s, real, parts, live.Limit(s.Bench.Interlock.MotorLimit))
	}
	state, err := stateFolder()
	if err != nil {
		return err
	}
	if err := tidy(c, &parts, state); err != nil {
		return err
	}
	power := s.Bench.Power
	if err := confirm(c.Context(), c.InOrStdin(), c.ErrOrStderr(), attended, power); err != nil {
		if errors.Is(err, errNotConfirmed) {
			fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
			return ended{exitNotShown}
		}
		return err
	}
	settings := supervisor.Settings{Parts: parts, Power: power, Confirmed: true, Rank: guardRank, Found: unrecorded(state), Env: raspberry.WorkerEnv(os.Environ())}
	if power > interlock.SignalsOnly {
		if settings.Tested, err = supervisor.Tested(state, parts.Pins); err != nil {
			return err
		}
		if settings.Rotation, err = supervisor.Rotation(state, motorsWired(s.Bench)); err != nil {
			return err
		}
	}
	end, err := handDown(&settings, inputsOf(c.Context()), lines)
	if err != nil {
		return err
	}
	defer end()
	ending, err := runGuard(settings)
	if err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
	if ending.Stood > 0 && !ending.Tripped {
		fmt.Fprintf(c.ErrOrStderr(), "hilrig: the interlock lost its timing: it stood still for %d ms\n", ending.Stood/signal.Millisecond)
	}
	switch {
	case ending.Tripped:
		fmt.Fprintf(c.ErrOrStderr(), "hilrig: the interlock tripped: %s (player: %s)\n", ending.Why, ending.Worker)
		return ended{exitTripped}
	case err != nil && ending.Worker == "":
		return ended{exitWrong}
	case err != nil:
		return ended{exitTripped}
	}
	return ended{ending.Code}
}

// playGuarded has the worker play on a bench under the guard's eyes. A motor command beyond
// limit, a share of full, trips where motors are powered.
func playGuarded(w *supervisor.Worker, s *suites.Setup, real *suites.Real, parts supervisor.Parts, limit float64) error {
	if err := raspberry.Hasten(); err != nil {
		return err
	}
	return putUnderGuard(w, s, real, parts, limit)
}

// putUnderGuard puts a setup on a bench under the guard's eyes.
func putUnderGuard(w *supervisor.Worker, s *suites.Setup, real *suites.Real, parts supervisor.Parts, limit float64) error {
	w.Holds(&parts)
	open := real.Open
	guarded := *real
	guarded.Open = func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		watch, err := watchOver(s, layout, limit)
		if err != nil {
			return nil, err
		}
		bench, err := open(layout, b)
		if err != nil {
			return nil, err
		}
		return w.Bench(bench, watch), nil
	}
	return s.On(&guarded)
}

// watchOver returns what looks at the motors' commands, nil where no motor is powered.
func watchOver(s *suites.Setup, layout signal.Layout, limit float64) (*supervisor.Watch, error) {
	if !live.Watched(s.Bench.Power) {
		return nil, nil
	}
	return supervisor.NewWatch(layout, s.Bench.Wiring.Motors, limit)
}

// motorsWired returns words that are others as soon as a bench file has a line on another
// pin, or other motor commands: how the motors turned says nothing any more then.
func motorsWired(b *file.Bench) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%v %+v", b.Pins, b.Wiring.Motors)) // fmt sorts the keys of maps
	return hex.EncodeToString(sum[:])
}

// stateFolder returns the folder in which hilrig keeps what it knows of this machine.
func stateFolder() (string, error) {
	home, err := record.Home()
	return filepath.Dir(home), err
}
