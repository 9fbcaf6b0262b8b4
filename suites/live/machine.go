package live

import (
	"context"
	"os"
	"strings"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/preflight"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/suites"
	"hilrig/suites/file"
)

// TryMachine tries this machine, which is a model, for what is wired so: what it grants the program,
// and where nothing of that is wrong how well it keeps time. It touches no pin. Setup says for which
// suites; nil for a stand, which plays no wheel.
func TryMachine(ctx context.Context, setup *suites.Setup, of *Wired, model pinout.Model) []preflight.Result {
	machine, edges := preflight.Machine{Root: os.DirFS("/"), Open: tryDevice}, 0.0
	if setup != nil {
		machine.Meant = setup.Bench.Computer
		for _, s := range setup.Suites {
			edges = max(edges, file.MostEdges(s, setup.Car, setup.Bench))
		}
	}
	found := machine.Ready(&of.Wires)
	if err := CanSend(model, of.Formats[0]); of.Stand && err != nil {
		found = append(found, Failed(err)...)
	}
	if preflight.AnyWrong(found) {
		return found
	}
	timed, err := tryTime(ctx, model, of.Motor, edges)
	if err != nil {
		timed = Failed(err)
	}
	return append(found, timed...)
}

// tryTime lets this machine, which is a model, keep time for a moment by the way that a
// bench on it is played, changing no pin. Edges are a second, of all wheels together.
func tryTime(ctx context.Context, model pinout.Model, motor decode.Motor, edges float64) ([]preflight.Result, error) {
	scheduling := realtime.DefaultScheduling(os.DirFS("/"))
	if model.Limits().Access == pinout.CharacterDevice {
		path, err := chardev.HeaderChip()
		if err != nil {
			return nil, err
		}
		return preflight.TryTimeByDevice(ctx, path, scheduling, motor, edges)
	}
	bank, err := registers.OpenRegisters(model)
	if err != nil {
		return nil, err
	}
	defer bank.Close()
	return preflight.TryTimeOnPinBank(ctx, bank, scheduling, motor, edges)
}

// tryDevice opens a device file and closes it again.
func tryDevice(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return f.Close()
}

// OnPins says whether a file names what stands on the header.
func OnPins(w *Wired) preflight.Result {
	what := "bench"
	if w.Stand {
		what = "stand"
	}
	if w.OnPins {
		return preflight.Result{Check: what + " file", Says: w.Path + " names every pin"}
	}
	return preflight.Result{Check: what + " file", Grade: preflight.Wrong, Says: w.Path + " is of a simulated " + what,
		Remedy: "write kind: raspberry and the pins into one of your own; hilrig wiring proposes them"}
}

// Failed is what is found where something could not be done at all.
func Failed(err error) []preflight.Result {
	says, cure, ok := strings.Cut(err.Error(), "; ")
	if !ok {
		cure = "see to that first"
	}
	return []preflight.Result{{Check: "bench", Grade: preflight.Wrong, Says: says, Remedy: cure}}
}
