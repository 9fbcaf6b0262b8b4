package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// loadFor is load for a command that plays: what is odd about car and bench
// is reported on the command's error output.
func (f *inputFlags) loadFor(c *cobra.Command, names []string) (*suites.Setup, error) {
	setup, err := f.load(c, names)
	if err == nil {
		warn(c, file.LintBench(setup.Bench))
		warn(c, file.LintCar(setup.Car))
	}
	return setup, err
}

// warn tells what is odd about files that can be played.
func warn(c *cobra.Command, odd language.Warnings) {
	for _, w := range odd {
		w.Message = "warning: " + w.Message
		fmt.Fprintln(c.ErrOrStderr(), w.Error())
	}
}
