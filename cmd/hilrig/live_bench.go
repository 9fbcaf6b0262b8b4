package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/suites"
	"hilrig/suites/live"
)

// turns has what is in memory take its turns on a clock from outside. It is nil but in
// tests, which set it: what is in memory keeps real time.
var turns *registers.Turns

// liveFlags say on which bench in real time something is played.
type liveFlags struct{ bank, attended string }

// add declares the flags.
func (f *liveFlags) add(c *cobra.Command) {
	flags := c.Flags()
	flags.StringVar(&f.bank, "bank", "", "play in real time into a `BANK`: memory, a bank in memory with the board behind it, or memory:FILE, the same in a file and under the supervisor (default: as the bench file says)")
	flags.StringVar(&f.attended, "attended", "yes", "where the bench is real, `yes`: somebody is there and confirms a list; no: nobody, with motors_powered: signals_only alone")
}

// on puts the setup on the bench that flags and bench file name. Where that bench needs
// a supervisor and this process is not its worker, the error is how the whole command
// ended.
func (f *liveFlags) on(c *cobra.Command, s *suites.Setup) error {
	memory, path, err := live.ParsePinBank(f.bank)
	switch {
	case err != nil:
		return err
	case path != "", !memory && s.Bench.Kind == "raspberry":
		return supervisedSetup(s).at(c, live.Place{Model: thisPi(), PinBank: path, Turns: turns}, f.attended)
	case !memory:
		return nil
	}
	real, err := live.InMemory(live.OfBench(s.Bench), nil, turns)
	if err != nil {
		return err
	}
	if err := realtime.EnterRealTime(); err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
	return s.On(real)
}
