package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
	"hilrig/suites/record"
)

// tidy makes safe what an earlier run left otherwise, and tells it on stderr.
func tidy(c *cobra.Command, parts *supervisor.Parts, state string) error {
	found, err := live.Tidy(parts, state)
	reportFound(c, found)
	return err
}

// reportFound prints what was found on the lines, where that was anything.
func reportFound(c *cobra.Command, found string) {
	if found != "" {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", found)
	}
}

// foundBefore says what had been found on the lines before this process, a worker, was
// started; empty where all was safe.
func foundBefore(ctx context.Context) string {
	if w := workerOf(ctx); w != nil {
		return w.Found()
	}
	return ""
}

// supervisorReported has a record keep what the supervisor reported to this process, if it is its worker, and what
// the operating system denied it, and returns what had been found on the lines before.
func supervisorReported(ctx context.Context, k *record.Writer, denied []string) (found string) {
	k.Denied(denied)
	found = foundBefore(ctx)
	k.Found(found)
	if w := workerOf(ctx); w != nil {
		k.InterlockStood(time.Duration(w.SupervisorStood()))
	}
	return found
}

// recorded forgets what was found on the lines, where that was anything, as a record has it.
func recorded(c *cobra.Command, found string) {
	if found == "" {
		return
	}
	state, err := stateFolder()
	if err == nil {
		err = live.Recorded(state)
	}
	if err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
	}
}

// behindStopped returns the error of a claim that another program has, and tells what was
// made safe behind that program's back where it is stopped.
func behindStopped(c *cobra.Command, denied error, parts func() (supervisor.Parts, error)) error {
	state, err := stateFolder()
	if err != nil {
		return errors.Join(denied, err)
	}
	found, err := live.BehindStopped(denied, state, parts)
	reportFound(c, found)
	return err
}
