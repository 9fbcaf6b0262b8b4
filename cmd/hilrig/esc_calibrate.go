package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/rig/signal"
	"hilrig/suites/esc"
)

// lead leads through a calibration of the load cell, and prints the lines for the stand file.
func (f *escFlags) lead(c *cobra.Command, s *esc.Setup) error {
	calibration, err := s.Calibrate(c.Context(), f.putOn(c, s))
	if err != nil {
		return fmt.Errorf("esc: %w", err)
	}
	for _, line := range calibration.Lines() {
		fmt.Fprintln(c.OutOrStdout(), line)
	}
	if wrong := calibration.Wrong(); wrong != "" {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: warning:", wrong)
		return endWith(exitNotShown)
	}
	return nil
}

// putOn returns what has a mass hung on the arm: by a person, or on a simulated stand by itself.
func (f *escFlags) putOn(c *cobra.Command, s *esc.Setup) func(mass float64) error {
	out := c.ErrOrStderr()
	if s.Real == nil {
		return func(mass float64) error {
			fmt.Fprintf(out, "%s on the arm, by the simulation\n", massOf(mass))
			return nil
		}
	}
	p := attendedBy(c)
	p.out = out
	fmt.Fprintln(out, "Before anything hangs on the arm: take the motor's supply off, and keep hands out from under the masses.")
	return func(mass float64) error {
		yes, err := p.ask(fmt.Sprintf("The motor's supply is off, and %s on the arm, at rest: yes or no?", massOf(mass)))
		if err != nil {
			return err
		}
		if !yes {
			return errNotConfirmed
		}
		return nil
	}
}

// massOf names a mass in kg.
func massOf(mass float64) string {
	if mass == 0 {
		return "nothing hangs"
	}
	return signal.Digits(1000*mass, 6) + " g hang"
}
