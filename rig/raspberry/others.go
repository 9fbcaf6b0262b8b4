package raspberry

import (
	"errors"
	"fmt"
	"strings"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// Use is one pin that a bench makes an input or an output.
type Use struct {
	Signal string
	GPIO   int
}

// Asker asks the kernel who has lines of the header, by GPIO number: another program, or
// a driver. Lines that nobody has are left out; who gives no name is "". Its error says
// why that cannot be found out.
//
// It looks and takes nothing. Lines that are played on by registers could be requested
// of the kernel as well, which would keep others off them; but where such a request ends,
// with the program that made it, the driver of a Pi 3's or 4's pins may make its lines
// inputs, and the safe levels of a worker that died would be gone.
type Asker func(gpios []int) (map[int]string, error)

// errInUse says that others have lines of the bench.
var errInUse = errors.New("in use by another program or a driver of the kernel")

// LookUp looks whether others have lines that a bench on this computer's registers would
// drive, which registers themselves do not tell: they would be driven by both. Its error
// names them. By the character device the kernel refuses such lines, and nothing is
// looked up; nor where there is no GPIO chip to ask.
func LookUp(model pinout.Model, w *pinout.Wires) error {
	if model.Limits().Access != pinout.Mapped {
		return nil
	}
	return refuseUsed(UsesOf(w), AskKernel)
}

// refuseUsed fails where others have one of the pins. Where that cannot be found out it does
// not: hilrig ready says so.
func refuseUsed(uses []Use, ask Asker) error {
	users, err := ask(GpiosOf(uses))
	if err != nil {
		return nil
	}
	var all []string
	for _, u := range uses {
		if user, ok := users[u.GPIO]; ok {
			all = append(all, u.Signal+" on "+UsedBy(u.GPIO, user))
		}
	}
	if len(all) == 0 {
		return nil
	}
	return fmt.Errorf("%s: %w; %s", strings.Join(all, ", "), errInUse, UsedRemedy)
}

// UsedBy says which pin is in whose use: "GPIO17 (pin 11, has it: spi0 CS0)".
func UsedBy(gpio int, user string) string {
	if user == "" {
		user = "somebody without a name"
	}
	return fmt.Sprintf("%s (pin %d, has it: %s)", pinout.GPIO(gpio), pinout.Position(gpio), user)
}

// UsedRemedy is what to do about a pin in use.
const UsedRemedy = "end the program, or take the driver's dtoverlay or dtparam out of config.txt, or wire another line; gpioinfo shows who has which"

// GpiosOf returns the GPIO numbers of pins, in their order.
func GpiosOf(uses []Use) []int {
	gpios := make([]int, len(uses))
	for i, u := range uses {
		gpios[i] = u.GPIO
	}
	return gpios
}

// UsesOf returns the pins that the bench which w wires drives or listens to. That of a
// port on the chip's own UART is the port's.
func UsesOf(w *pinout.Wires) []Use {
	var all []Use
	for _, r := range w.Table() {
		if r.GPIO > 0 && !hostlines.OwnUART(w.Devices[r.Signal]) {
			all = append(all, Use{r.Signal, r.GPIO})
		}
	}
	return all
}

// usesOf returns the pins that a bench makes inputs or outputs.
func usesOf(s *hostlines.Settings) []Use {
	var all []Use
	for i, l := range s.Layout.Lines {
		if i < len(s.Pins) && s.Claims(signal.Line(i)) {
			all = append(all, Use{l.Name, int(s.Pins[i])})
		}
	}
	if s.Reset > 0 {
		all = append(all, Use{"reset", s.Reset})
	}
	return all
}
