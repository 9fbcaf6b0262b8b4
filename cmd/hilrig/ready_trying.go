package main

import (
	"os"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/live"
)

// try is what the worker under the supervisor does before any motor has its supply: pins, board,
// stop contact and relay.
func (f *readyFlags) try(c *cobra.Command, w *supervisor.Worker, setup *suites.Setup, of *live.Wired, real *suites.Real, parts supervisor.Parts, place live.Place) error {
	r, err := f.trying(c, w, of, place, &parts)
	if err != nil {
		return err
	}
	r.onLines(c, setup, func() error {
		return live.PutUnderSupervisor(w, setup, real, parts, live.Limit(setup.Bench.Interlock.MotorLimit))
	})
	if r.Lines != nil {
		_ = r.Lines.Close() // the supervisor says which is not safe
	}
	return r.HandOver()
}

// trying returns a readiness whose lines are open: this machine's, or those of a rehearsal in
// the bank of the place.
func (f *readyFlags) trying(c *cobra.Command, w *supervisor.Worker, of *live.Wired, place live.Place, parts *supervisor.Parts) (*readiness, error) {
	r := &readiness{screen: screenOn(c.OutOrStdout()), Readiness: live.Readiness{
		Of: of, Wires: of.Wires, Loopback: f.loopback, Worker: w, Found: os.Getenv(foundKey),
	}}
	if place.PinBank == "" {
		if f.attended == "yes" {
			r.Person = attendedBy(c)
		}
		r.stage("lines", func() []preflight.Result { return r.OpenLines(place.Model, parts) })
		return r, nil
	}
	var err error
	if r.Wires, err = r.Wires.ToPlay(); err != nil {
		return nil, err
	}
	lines := live.Rehearsal(&r.Wires, f.loopback, place.Turns)
	r.Open = func() error {
		opened, err := live.OpenRehearsed(w, lines, place.PinBank, parts)
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
