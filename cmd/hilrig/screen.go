package main

import (
	"github.com/spf13/cobra"

	"hilrig/suites/report"
	"hilrig/suites/terminal"
)

// screen is where text for a person goes.
type screen = terminal.Screen

// screenOn returns the screen on a writer.
var screenOn = terminal.On

// quietFlag is the flag of those commands that can say the outcome alone.
const quietFlag = "quiet"

// addQuiet declares it.
func addQuiet(c *cobra.Command) {
	c.Flags().Bool(quietFlag, false, "say the outcome alone, and not how far the work has come")
}

// outcomeAlone says whether the outcome alone is wanted.
func outcomeAlone(c *cobra.Command) bool {
	f := c.Flags().Lookup(quietFlag)
	return f != nil && f.Changed && f.Value.String() == "true"
}

// screenOf returns the screen for a command's results.
func screenOf(c *cobra.Command) *screen {
	s := screenOn(c.OutOrStdout())
	s.Quiet = outcomeAlone(c)
	return s
}

// progressOf returns what says how far a command has come.
func progressOf(c *cobra.Command) *terminal.Progress {
	return terminal.ProgressOn(c.ErrOrStderr(), outcomeAlone(c))
}

// table is text in columns.
type table = report.Table

// count writes "1 check" or "3 checks".
func count(n int, noun string) string { return report.Count(n, noun) }
