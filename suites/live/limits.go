package live

import (
	"fmt"
	"io"

	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// fastWheel is what no wheel of a small car reaches, turns a second: 38 m/s on a wheel of
// 60 mm.
const fastWheel = 200

// WriteLimits writes what the bench's computer can capture and play of it.
func WriteLimits(out io.Writer, b *file.Bench) {
	l, on := b.Limits()
	if l == nil {
		return
	}
	kind := b.Wiring.Motors[0].Kind
	says := "captured"
	if fit, why := b.Fit(l); fit == pinout.Marginal {
		says = "captured marginally: " + why
	}
	fmt.Fprintf(out, "\non %s: %s is %s; the wheel sensors may give %s edges a second, all together\n", on, kind, says, signal.Digits(l.Edges, 3))
	if turns := b.Turns(l.Edges); turns < fastWheel {
		fmt.Fprintf(out, "these reach that at %.3g turns a second\n", turns)
	}
}
