package main

import (
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/suites/live"
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
			return live.Failed(err)
		}
		return []preflight.Finding{{Check: "lines", Says: "opened by " + model.Limits().Way.String()}}
	})
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
