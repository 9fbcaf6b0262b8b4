package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/esc"
	"hilrig/suites/live"
)

// on puts the setup on the bench that flags and stand file name. Where that bench needs a
// supervisor and this process is not its worker, the error is how the whole command ended.
func (f *escFlags) on(c *cobra.Command, s *esc.Setup) error {
	memory, path, err := live.ParsePinBank(f.live.bank)
	if err != nil || !memory && s.Stand.Kind == "simulated" {
		return err
	}
	if f.calibrate { // no motor turns, and none gets its supply
		still := *s.Stand
		still.Power = interlock.SignalsOnly
		s.Stand = &still
	}
	of := live.OfStand(s.Stand)
	rehearsed := memory && path == ""
	if err := live.MayPlay(s.Stand); err != nil && !f.calibrate && (!rehearsed || !s.Stand.Plays()) {
		return fmt.Errorf("%s: %w", s.Stand.Source.Path, err)
	}
	if rehearsed {
		if err := realtime.EnterRealTime(); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
		}
		real, err := live.InMemory(of, nil, turns)
		if err == nil {
			s.Real = live.ForStand(s.Stand, real)
		}
		return err
	}
	played := &supervised{wired: of, list: live.StandList(s.Stand), settings: live.StandSettings}
	played.play = func(w *supervisor.Worker, real *suites.Real, parts supervisor.Parts) (err error) {
		s.Real, err = live.StandSupervised(w, s.Stand, real, parts)
		if !real.Board {
			s.Bus = live.BusOf(s.Stand)
		}
		return err
	}
	return played.at(c, live.Place{Model: thisPi(), PinBank: path, Turns: turns}, f.live.attended)
}
