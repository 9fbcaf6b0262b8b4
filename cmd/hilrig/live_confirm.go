package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"hilrig/rig/interlock"
	"hilrig/suites/live"
	"hilrig/suites/report"
)

// errNotConfirmed says that nobody wanted the bench live.
var errNotConfirmed = errors.New("not confirmed: nothing was driven")

// terminalOf returns what is read as a terminal, nil where it is none.
func terminalOf(in io.Reader) *os.File {
	if f, ok := in.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		return f
	}
	return nil
}

// confirm has a person confirm the list for a power level, where the level and what
// --attended says want one. What was typed before the question does not count.
func confirm(ctx context.Context, in io.Reader, out io.Writer, attended string, power interlock.Power, list []string) error {
	terminal := terminalOf(in)
	ask, err := live.Ask(power, attended, terminal != nil)
	if err != nil || !ask {
		return err
	}
	fmt.Fprintf(out, "%s\n\nThe bench goes live, motors powered as %v, only if all of this is so:\n\n", live.NotASafetyDevice, power)
	printItems(out, list)
	if err := dropTyped(terminal); err != nil {
		return fmt.Errorf("nobody can confirm that all is ready, as what was typed before is still there: %w", err)
	}
	fmt.Fprint(out, "\nType yes if it is, anything else to stop: ")
	answer := make(chan string, 1)
	go func() {
		line, _ := bufio.NewReader(terminal).ReadString('\n') // what was not written to its end is no yes
		answer <- line
	}()
	select {
	case line := <-answer:
		if !live.Confirms(line) {
			return errNotConfirmed
		}
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func printItems(out io.Writer, list []string) {
	for i, item := range list {
		fmt.Fprintf(out, "%3d  %s\n", i+1, strings.Join(report.Wrapped(item, 78), "\n     "))
	}
}
