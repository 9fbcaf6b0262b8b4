package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/file"
)

// loadFor is load for a command that plays: what the bench's computer captures in
// doubt is told on the command's error output.
func (f *inputFlags) loadFor(c *cobra.Command, names []string) (*suites.Setup, error) {
	setup, err := f.load(names)
	if err == nil {
		warn(c, setup.Bench)
	}
	return setup, err
}

// warn tells what is odd about a bench that can be played.
func warn(c *cobra.Command, b *file.Bench) {
	for _, w := range file.LintBench(b) {
		w.Message = "warning: " + w.Message
		fmt.Fprintln(c.ErrOrStderr(), w.Error())
	}
}
