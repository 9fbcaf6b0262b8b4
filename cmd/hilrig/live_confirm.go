package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"hilrig/rig"
)

// errNotConfirmed says that nobody wanted the bench live.
var errNotConfirmed = errors.New("not confirmed: nothing was driven")

// confirm has a person confirm the list of a power level. Attended is what --attended
// says; terminal whether in is one.
func confirm(ctx context.Context, in io.Reader, out io.Writer, terminal bool, attended string, power rig.Power) error {
	switch {
	case attended != "yes" && attended != "no":
		return fmt.Errorf("--attended is %q; write yes or no", attended)
	case attended == "no" && power > rig.SignalsOnly:
		return fmt.Errorf("--attended=no: the motors are powered as %v, and somebody has to stand by; leave it out, or write motors_powered: signals_only", power)
	case attended == "no":
		return nil
	case !terminal && power > rig.SignalsOnly:
		return fmt.Errorf("the motors are powered as %v, and nobody can confirm that all is ready, as standard input is no terminal; run it on one", power)
	case !terminal:
		return errors.New("nobody can confirm that all is ready, as standard input is no terminal; run it on one, or write --attended=no")
	}
	printList(out, power)
	answer := make(chan string, 1)
	go func() {
		line, _ := bufio.NewReader(in).ReadString('\n') // what was not written to its end is no yes
		answer <- line
	}()
	select {
	case line := <-answer:
		if line != "yes\n" && line != "yes\r\n" {
			return errNotConfirmed
		}
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// printList writes the list of a power level, and the question.
func printList(out io.Writer, power rig.Power) {
	fmt.Fprintf(out, "%s\n\nThe bench goes live, motors powered as %v, only if all of this is so:\n\n", notASafetyDevice, power)
	printItems(out, lists[power])
	fmt.Fprint(out, "\nType yes if it is, anything else to stop: ")
}

func printItems(out io.Writer, list []string) {
	for i, item := range list {
		fmt.Fprintf(out, "%3d  %s\n", i+1, strings.Join(wrapped(item, 78), "\n     "))
	}
}

// wrapped breaks a sentence into lines of at most width letters, at blanks.
func wrapped(text string, width int) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		if line != "" && len(line)+1+len(word) > width {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}
