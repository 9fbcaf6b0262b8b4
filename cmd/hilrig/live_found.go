package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/supervisor"
)

// foundName is the file in the state folder that keeps what was found on the lines until a
// record has it.
const foundName = "found"

// tidy makes safe what an earlier run left otherwise, tells it on stderr, and notes it.
func tidy(c *cobra.Command, parts *supervisor.Parts, state string) error {
	found, err := parts.Tidy()
	if found == "" {
		return err
	}
	fmt.Fprintln(c.ErrOrStderr(), "hilrig:", found)
	all := strings.TrimPrefix(unrecorded(state)+"; "+found, "; ")
	noted := os.MkdirAll(state, 0o700)
	if noted == nil {
		noted = os.WriteFile(filepath.Join(state, foundName), []byte(all), 0o600)
	}
	return errors.Join(err, noted)
}

// unrecorded returns what was noted and no record has yet; empty where nothing was.
func unrecorded(state string) string {
	data, _ := os.ReadFile(filepath.Join(state, foundName)) // there is none
	return string(data)
}

// foundBefore says what had been found on the lines before this process, a player, was
// started; empty where all was safe.
func foundBefore(ctx context.Context) string {
	if w := workerOf(ctx); w != nil {
		return w.Found()
	}
	return ""
}

// recorded forgets what was noted, as a record has it.
func recorded() error {
	state, err := stateFolder()
	if err == nil {
		err = os.Remove(filepath.Join(state, foundName))
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("what was found on the lines stays noted, and the next record has it too: %w", err)
	}
	return nil
}

// behindStopped returns the error of a claim that another program has. Where that program is
// stopped, with its player, nobody but this one can take the supply away: relay and lines are
// made safe, and nothing is played.
func behindStopped(c *cobra.Command, refused error, parts func() (supervisor.Parts, error)) error {
	var used *claim.InUse
	if !errors.As(refused, &used) || !standsStill(used.Process) {
		return refused
	}
	state, err := stateFolder()
	if err == nil {
		var p supervisor.Parts
		if p, err = parts(); err == nil {
			err = tidy(c, &p, state)
		}
	}
	return errors.Join(fmt.Errorf("%w: it is stopped; kill -CONT %d has it end, its relay open", refused, used.Process), err)
}

// standsStill says whether a process is stopped, by a signal or by its terminal.
//
// Source: torvalds/linux, Documentation/filesystems/proc.rst, table 1-4.
func standsStill(process int) bool {
	data, _ := os.ReadFile(fmt.Sprintf("/proc/%d/stat", process)) // it may have ended
	at := strings.LastIndex(string(data), ") ")
	return at >= 0 && strings.HasPrefix(string(data[at+2:]), "T")
}
