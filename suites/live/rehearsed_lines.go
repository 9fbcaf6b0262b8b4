package live

import (
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
)

// OpenRehearsed opens the lines of a rehearsal in the bank at path, for a worker under a supervisor.
func OpenRehearsed(w *supervisor.Worker, r *preflight.Rehearsal, path string, parts *supervisor.Parts) (preflight.Circuit, error) {
	bank, err := registers.OpenMemoryFile(path)
	if err != nil {
		return nil, err
	}
	return rehearsedLines{w.Try(r.In(bank), parts), r}, nil
}

// Rehearsal returns a rehearsal, on the clock of what is in memory, with jumpers in place
// of the board where they are asked for. Turns is as for [InMemory].
func Rehearsal(w *pinout.Wires, jumpers bool, turns *registers.Turns) *preflight.Rehearsal {
	lines := preflight.NewRehearsal(w)
	if turns != nil {
		lines.On(turns.Clock)
	}
	if jumpers {
		layJumpers(lines, w)
	}
	return lines
}

// rehearsedLines are lines of a rehearsal, who looks at the heartbeat of a supervisor.
type rehearsedLines struct {
	*supervisor.TriedLines
	rehearsal *preflight.Rehearsal
}

// Alive says that whoever tries them keeps time.
func (l rehearsedLines) Alive() error {
	l.rehearsal.Look()
	return l.TriedLines.Alive()
}

// layJumpers joins the first wheel sensors' lines to the motor lines.
func layJumpers(lines *preflight.Rehearsal, w *pinout.Wires) {
	var from []int
	rows := w.Table()
	for i := range rows {
		switch r := &rows[i]; {
		case r.Group == pinout.Sensor && r.Direction == pinout.Out:
			from = append(from, r.GPIO)
		case r.Group == pinout.Motor && len(from) > 0:
			lines.Jump(from[0], r.GPIO)
			from = from[1:]
		}
	}
}
