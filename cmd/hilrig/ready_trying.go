package main

import (
	"os"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/file"
	"hilrig/suites/live"
)

// try is what the player under the supervisor does before any motor has its supply: pins, board,
// stop contact and relay.
func (f *readyFlags) try(c *cobra.Command, w *supervisor.Worker, names []string) error {
	setup, err := f.load(c, names)
	if err != nil {
		return err
	}
	bank, path, named := strings.Cut(f.bank, ":")
	if bank != "" && !named {
		path = os.Getenv(rehearsedKey)
	}
	real, parts, err := live.TurningBench(setup.Bench, bank, path, thisPi(), turns)
	if err != nil {
		return err
	}
	r, err := f.trying(c, w, setup.Bench, path, &parts)
	if err != nil {
		return err
	}
	r.onLines(c, setup, func() error {
		return live.PutUnderSupervisor(w, setup, real, parts, live.Limit(setup.Bench.Interlock.MotorLimit))
	})
	if r.Lines != nil {
		_ = r.Lines.Close() // the supervisor says which is not safe
	}
	return r.Keep()
}

// trying returns a readiness whose lines are open: this machine's, or those of a rehearsal in
// the bank at path.
func (f *readyFlags) trying(c *cobra.Command, w *supervisor.Worker, b *file.Bench, path string, parts *supervisor.Parts) (*readiness, error) {
	r := &readiness{screen: screenOn(c.OutOrStdout()), Readiness: live.Readiness{
		Bench: b, Wires: live.WiresOf(b), Loopback: f.loopback, Worker: w, Found: os.Getenv(foundKey),
	}}
	if f.bank == "" {
		if f.attended == "yes" {
			r.Person = attendedBy(c)
		}
		r.openLines(thisPi(), parts)
		return r, nil
	}
	var err error
	if r.Wires, _, err = r.Wires.Propose(); err != nil {
		return nil, err
	}
	lines := live.Rehearsal(&r.Wires, f.loopback, turns)
	r.Open = func() error {
		opened, err := live.OpenRehearsed(w, lines, path, parts)
		if err == nil {
			r.Lines = opened
		}
		return err
	}
	if f.attended == "yes" {
		r.Person = rehearsed{lines, r.screen}
	}
	return r, r.Open()
}
