package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// badPulse says what a bench lacks for a bad pulse on a wire, or what is wrong with it, and how to mend it; empty where nothing is.
func (b *caseBuilder) badPulse(x *language.Value, w wireSort, f *stimulus.Fault) (missing, mistake, remedy string) {
	switch {
	case w.kind != channelWire && w.kind != anyWire:
		return "", fmt.Sprintf("wire %s carries no receiver pulses", x.Word), "name steer, throttle or gain"
	case b.bench == nil:
		return "", "", ""
	case b.onBus():
		return "no receiver pulses, but a bus", "the receiver's channels come on a bus, which has no pulses", "play it on a bench with receiver pulses, or leave the fault out"
	}
	channel := map[string]*wire.Pulse{"steer": &b.bench.Wiring.Steer, "throttle": &b.bench.Wiring.Throttle, "gain": &b.bench.Wiring.Gain}[f.Wire]
	if channel == nil {
		return "", "", ""
	}
	least, most := channel.Limits()
	switch {
	case f.Width >= least && f.Width <= most:
		good := fmt.Sprintf("a pulse of %s on %s is a good one by the bench, from %s to %s", span(f.Width), f.Wire, span(least), span(most))
		return good, good, "write a width outside"
	case f.Width > channel.Frame-100*signal.Microsecond:
		long := fmt.Sprintf("a pulse of %s has no room in the frame of %s, %s", span(f.Width), f.Wire, span(channel.Frame))
		return long, long, "write a shorter one"
	}
	return "", "", ""
}
