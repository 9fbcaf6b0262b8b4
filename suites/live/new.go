package live

import (
	"bytes"
	_ "embed"
	"fmt"
	"strings"

	"hilrig/rig/raspberry/circuit"
	"hilrig/rig/raspberry/pinout"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// unitName and unit are the unit that sets a Pi up at each start.
const unitName = "hilrig-pi.service"

//go:embed hilrig-pi.service
var unit []byte

// MakeOn writes files to start from as [demo.Make] does, the bench with pins, ports and interlock on
// a computer, "Pi 4B", and beside them the unit that sets that up at each start.
func MakeOn(folder, computer string) ([]string, error) {
	name, err := demo.NameOf(folder)
	if err != nil {
		return nil, err
	}
	files := demo.New(name)
	for i := range files {
		if files[i].Name == "bench.yaml" {
			if files[i].Data, err = onPi(files[i].Data, computer); err != nil {
				return nil, err
			}
		}
	}
	return demo.Write(folder, append(files, demo.File{Name: unitName, Data: unit}, demo.NewSetup(name)))
}

// onPi returns a bench file with its pins on a computer.
func onPi(data []byte, computer string) ([]byte, error) {
	var names []string
	model := pinout.NoPi
	for _, m := range pinout.Models {
		names = append(names, m.String())
		if m.String() == computer {
			model = m
		}
	}
	if model == pinout.NoPi {
		return nil, fmt.Errorf("--on %q is no computer that hilrig knows the pins of; use %s", computer, language.Or(names))
	}
	b, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: data})
	if err != nil {
		return nil, err
	}
	wires := WiresOf(b)
	wires.Model = model
	w, _, err := wires.Propose()
	if err != nil {
		return nil, err
	}
	v := circuit.Work(circuit.Supply{})
	var head bytes.Buffer
	fmt.Fprintf(&head, `# What it stands on, and the GPIO line of each wire: hilrig wiring draws where that
# is on the header. Without these the file runs on the simulated bench; with them
# hilrig run --bank memory plays it in memory.
kind: raspberry
computer: %v
pins:
`, model)
	for _, r := range w.Table() {
		if r.GPIO > 0 && r.Group != pinout.Serial && r.Group != pinout.Interlock {
			fmt.Fprintf(&head, "  %s: %s\n", r.Signal, pinout.GPIO(r.GPIO))
		}
	}
	fmt.Fprintf(&head, `
# What stands between the rig and a powered motor: hilrig wiring --circuit draws it.
interlock:
  stop: %s
  relay: %s
  heartbeat: %s
  supply: %s # sees whether the contactors opened
  motor_limit: 25 %% # a command beyond it takes the motors' supply away
  pack: %.4g V # guessed: fully charged
  capacitance: %.4g uF # guessed: of the four speed controllers together
  bleed: %.4g ohm # guessed: what empties them once the contactors have opened

`, pinout.GPIO(w.Stop), pinout.GPIO(w.Relay), pinout.GPIO(w.Heartbeat), pinout.GPIO(w.Supply), v.Pack, v.Capacitance*1e6, v.Bleed)
	text := strings.Replace(string(data), "# One quadrature encoder", head.String()+"# One quadrature encoder", 1)
	for _, p := range w.Layout.Ports {
		u, _ := model.UARTAt(w.Pins[p.Name])
		line := "  - port: " + p.Name
		before, after, _ := strings.Cut(text, line)
		rest, after, _ := strings.Cut(after, "\n")
		text = fmt.Sprintf("%s%s%s\n    device: %s # on %s; config.txt: %s\n%s", before, line, rest, w.Devices[p.Name], pinout.GPIO(u.Sends), u.Setting, after)
	}
	return []byte(text), nil
}
