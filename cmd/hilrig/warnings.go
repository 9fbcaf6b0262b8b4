package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/language"
)

// loadFor reads car, bench and the suites of these names, and tells what is odd about them.
func (f *inputFlags) loadFor(c *cobra.Command, names []string) (*suites.Setup, error) {
	setup, err := f.load(c, names)
	if err == nil {
		warn(c, setup.Odd())
	}
	return setup, err
}

// mostWarnings is how many warnings are shown: no more than a screen of them.
const mostWarnings = 12

// warn tells what is odd about files that can be played, a line each, and of more than a
// screen how many more there are.
func warn(c *cobra.Command, odd language.Warnings) {
	for i, w := range odd {
		if i == mostWarnings {
			fmt.Fprintf(c.ErrOrStderr(), "and %s; hilrig lint shows all, with their lines\n", count(len(odd)-i, "more warning"))
			return
		}
		w.Message = "warning: " + w.Message
		fmt.Fprintln(c.ErrOrStderr(), w.Error())
	}
}
