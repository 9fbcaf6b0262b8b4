package live

import (
	"errors"
	"fmt"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
)

// LetGo makes every pin of a bench on this machine an input with the pull that it has from power-up on,
// those of the interlock first, and returns how many. Pins of a serial port stay the port's. Nobody else
// may have them. What is wired is then held by its resistors alone.
func LetGo(of *Wired, model pinout.Model) (pins int, err error) {
	if model.Limits().Access == pinout.NoAccess {
		return 0, Unavailable{fmt.Errorf("%s: this machine is %v, which has no pins to let go", of.Path, model)}
	}
	lines, err := raspberry.OpenLines(model)
	if err != nil {
		return 0, err
	}
	pins, err = letGo(lines, &of.Wires)
	return pins, errors.Join(err, lines.Close())
}

func letGo(lines hostlines.Lines, w *pinout.Wires) (pins int, err error) {
	var failed error
	for _, pin := range []int{w.Relay, w.Heartbeat} {
		if pin != 0 {
			failed = errors.Join(failed, lines.Output(pin, false))
		}
	}
	rows := w.Table()
	release := func(interlock bool) {
		for i := range rows {
			r := &rows[i]
			chips := r.Group == pinout.Serial && r.Direction == pinout.Out
			if r.GPIO == 0 || chips || (r.Group == pinout.Interlock) != interlock {
				continue
			}
			pull := hostlines.PullDown
			if pinout.PulledUp(r.GPIO) {
				pull = hostlines.PullUp
			}
			if err := lines.Input(r.GPIO, pull); err != nil {
				failed = errors.Join(failed, fmt.Errorf("%s, %s: %w", r.Signal, pinout.GPIO(r.GPIO), err))
				continue
			}
			pins++
		}
	}
	release(true)
	release(false)
	return pins, failed
}

// LetGoHint offers to let pins go, where a bench on this machine's pins was played.
func LetGoHint(of *Wired, place Place) string {
	flag := "--bench"
	if of.Stand {
		flag = "--stand"
	}
	if place.PinBank != "" {
		return ""
	}
	return fmt.Sprintf("the pins stay outputs at their safe levels; before you change a wire: hilrig release %s %s", flag, of.Path)
}
