package main

import (
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/interlock"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites"
	"hilrig/suites/file"
)

// openLines opens the lines of this machine one by one, for a player under a guard. Where it
// cannot, that is a finding.
func (r *readiness) openLines(model pinout.Model, parts *supervisor.Parts) {
	r.stage("lines", func() []preflight.Finding {
		r.open = func() error {
			lines, err := raspberry.OpenLines(model)
			if err != nil {
				return err
			}
			r.lines = r.worker.Try(lines, parts)
			return nil
		}
		if err := r.open(); err != nil {
			r.lines = nil
			return failed(err)
		}
		return []preflight.Finding{{Check: "lines", Says: "opened by " + model.Limits().Way.String()}}
	})
}

// timing lets the machine keep time for a moment, changing no pin.
func (r *readiness) timing(c *cobra.Command, setup *suites.Setup, model pinout.Model) []preflight.Finding {
	edges := 0.0
	for _, s := range setup.Suites {
		edges = max(edges, file.MostEdges(s, setup.Car, setup.Bench))
	}
	found, err := tryTime(c.Context(), model, setup.Bench.Wiring.Motors[0].Kind, edges)
	if err != nil {
		return failed(err)
	}
	return found
}

// failed is what is found where something could not be done at all.
func failed(err error) []preflight.Finding {
	says, cure, ok := strings.Cut(err.Error(), "; ")
	if !ok {
		cure = "see to that first"
	}
	return []preflight.Finding{{Check: "bench", Grade: preflight.Wrong, Says: says, Cure: cure}}
}

// noteTested notes which parts of the interlock passed since this machine was started:
// with powered motors nothing goes live without.
func (r *readiness) noteTested(passed interlock.Parts) error {
	state, err := stateFolder()
	if err != nil {
		return err
	}
	return supervisor.NoteTested(state, supervisor.Pins{Stop: r.wires.Stop, Relay: r.wires.Relay, Heartbeat: r.wires.Heartbeat}, passed)
}
