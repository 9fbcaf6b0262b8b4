package live

import (
	"os"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/raspberry/circuit"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// rehearsal is the kind of a bench in memory, for records.
const rehearsal = "memory bank"

// InMemory returns a bench in memory with a board, or a stand, of the program behind it, on the pins
// of w or such as are proposed for it. Every level of the bench is shown to
// another bank too, unless shown is nil. Turns has what is in memory take its turns on a clock
// from outside; with nil it keeps real time.
func InMemory(w *Wired, shown registers.PinBank, turns *registers.Turns) (*suites.Real, error) {
	w, err := w.proposed()
	if err != nil {
		return nil, err
	}
	denied := &denials{}
	return &suites.Real{
		Denied: denied.all,
		Kind:   rehearsal, Board: true, Restarts: true, Waits: turns != nil,
		Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
			pins := PinsOf(layout, w.Wires.Pins)
			bank, err := registers.NewSimulatedPinBank(b, layout, pins)
			if err != nil {
				return nil, err
			}
			if shown != nil {
				bank.Share(shown)
			}
			scheduling := realtime.DefaultScheduling(os.DirFS("/"))
			denied.add(tickOn(scheduling)...)
			bench, err := registers.New(registers.Settings{Settings: hostlines.Settings{Layout: layout, Pins: pins, Scheduling: scheduling, Formats: w.Formats}, PinBank: bank, Time: turns})
			if err != nil {
				return nil, err
			}
			denied.of(bench)
			return bench, nil
		},
	}, nil
}

// tickOn gives the goroutine that plays a priority beside the loop's, if that has one, and the processor that is
// for what works beside it. It returns what is denied.
func tickOn(loop realtime.Scheduling) []string {
	if loop.Priority > 0 {
		return loop.Beside(loop.TickPriority()).Request()
	}
	return nil
}

// InFile returns a bench on a bank in memory that is a file, with the board behind it,
// and its lines for a supervisor. Turns is as for [InMemory].
func InFile(w *Wired, path string, turns *registers.Turns) (*suites.Real, supervisor.Parts, error) {
	w, err := w.proposed()
	if err != nil {
		return nil, supervisor.Parts{}, err
	}
	bank, err := registers.OpenMemoryFile(path)
	if err != nil {
		return nil, supervisor.Parts{}, err
	}
	if bank.Fresh() && w.Wires.Stop != 0 {
		bank.Set(1 << w.Wires.Stop) // the stop contact is closed until somebody opens it
	}
	clock := realtime.Clock(realtime.System{})
	if turns != nil {
		clock = turns.Clock
	}
	open := func() (hostlines.Lines, error) {
		lines, err := registers.OpenMemoryFile(path)
		return behind(lines, &w.Wires, clock), err
	}
	real, err := InMemory(w, bank, turns)
	return real, partsOf(&w.Wires, PinsOf(w.Wires.Layout, w.Wires.Pins), open), err
}

// behind returns lines in memory with a circuit behind them that is as it should be.
func behind(lines hostlines.Lines, w *pinout.Wires, clock realtime.Clock) hostlines.Lines {
	return &circuit.Simulated{
		Lines: lines, Pins: circuit.Pins{Stop: w.Stop, Relay: w.Relay, Heartbeat: w.Heartbeat, Supply: w.Supply},
		Clock: clock, Hold: 100 * signal.Millisecond, Falls: 50 * signal.Millisecond,
	}
}
