package main

import (
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/supervisor"
)

// openLines opens the lines of this machine one by one, for a player under a guard. Where it
// cannot, that is a finding.
func (r *readiness) openLines(model pinout.Model, parts *supervisor.Parts) {
	r.stage("lines", func() []preflight.Finding { return r.OpenLines(model, parts) })
}

// noteTested notes which parts of the interlock passed since this machine was started:
// with powered motors nothing goes live without.
func (r *readiness) noteTested(passed interlock.Parts) error {
	state, err := stateFolder()
	if err != nil {
		return err
	}
	return supervisor.NoteTested(state, supervisor.Pins{Stop: r.Wires.Stop, Relay: r.Wires.Relay, Heartbeat: r.Wires.Heartbeat}, passed)
}
