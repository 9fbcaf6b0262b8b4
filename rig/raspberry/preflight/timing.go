package preflight

import (
	"context"
	"fmt"
	"strings"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// tryFor is how long time is kept to see whether a machine can: two periods of the
// kernel's account of real-time programs.
const tryFor = 2 * signal.Second

// spareEdges is how many more edges than a bench needs are tried, as a factor.
const spareEdges = 1.2

// TryTimeOnPinBank lets the loop run on bank for two seconds, with more edges than a bench needs at
// its fastest, and says whether it kept time well enough for those and for the
// format of its motor commands. It changes no pin. Edges are a second, of all wheels
// together.
func TryTimeOnPinBank(ctx context.Context, bank registers.PinBank, scheduling realtime.Scheduling, motor decode.Motor, edges float64) ([]Result, error) {
	k, err := registers.TimingTrial{PinBank: registers.LeaveAlone(bank), Scheduling: scheduling, For: tryFor, Edges: min(edges*spareEdges, registers.MostEdges)}.Run(ctx)
	if err != nil {
		return nil, err
	}
	return judgedOnPinBank(k, motor, edges), nil
}

// TryTimeByDevice is [TryTimeOnPinBank] by the GPIO character device at path. It changes no pin, and so
// cannot see the kernel's stamps.
func TryTimeByDevice(ctx context.Context, path string, scheduling realtime.Scheduling, motor decode.Motor, edges float64) ([]Result, error) {
	k, err := chardev.Trial{Path: path, Scheduling: scheduling, For: tryFor, Edges: min(edges*spareEdges, chardev.MostEdges)}.Run(ctx)
	if err != nil {
		return nil, err
	}
	return judgedByDevice(k, motor, edges), nil
}

// slower is what helps a machine that does not keep time.
const slower = "isolate a core, take a kernel with PREEMPT_RT, set the governor to performance, end what else runs; hilrig timing shows what came of it"

// measured is what a trial measured.
type measured interface {
	Motor(m decode.Motor) timing.MotorSupport
	Encoders() timing.EncoderSupport
}

// judgedOnPinBank says what a trial means for a bench.
func judgedOnPinBank(k *registers.Measurement, motor decode.Motor, edges float64) []Result {
	faster := slower
	if motor.Kind.Digital() && motor.DShot.Tolerance == 0 {
		faster += "; or declare the bit_tolerance that the board keeps"
	}
	return judged(k, k.Denied, motor, edges, faster, faster+"; or have the board send a slower format")
}

// judgedByDevice says what a trial by the character device means for a bench.
func judgedByDevice(k *chardev.Measurement, motor decode.Motor, edges float64) []Result {
	return judged(k, k.Denied, motor, edges, "hilrig timing --jumper measures it", "have the board send servo_pulse, or use a Pi 3B+ or 4B")
}

// judged says what a trial means for a bench with such motor commands: warning is the
// remedy for a format that may be captured, wrong for one that cannot be.
func judged(k measured, denied []string, motor decode.Motor, edges float64, warning, wrong string) []Result {
	found := schedulingDenied(denied)
	m, remedy := k.Motor(motor), warning
	if m.Support == pinout.No {
		remedy = wrong
	}
	found = append(found, timed("capture "+motor.Kind.String(), m.Support, m.Why, remedy))
	return append(found, wheelsPlayed(k.Encoders(), edges)...)
}

// schedulingDenied says what a loop or an edge output was not granted.
func schedulingDenied(denied []string) (found []Result) {
	for _, r := range denied {
		says, remedy, _ := strings.Cut(r, "; ")
		found = append(found, Result{"scheduling", Wrong, says, remedy})
	}
	return found
}

// wheelsPlayed says whether the edges that a bench needs can be played; of a bench that
// needs none nothing.
func wheelsPlayed(e timing.EncoderSupport, edges float64) []Result {
	if edges <= 0 {
		return nil
	}
	support := pinout.No
	switch {
	case e.Edges >= edges:
		support = pinout.Yes
	case e.Edges >= edges/2:
		support = pinout.Marginal
	}
	return []Result{timed("play wheel sensors", support, fmt.Sprintf("%s edges a second of the %s that the suites need: %s", signal.Digits(e.Edges, 3), signal.Digits(edges, 3), e.Why), "play lower speeds, or use encoders of fewer lines; "+slower)}
}

// timed returns the result for how well something is supported.
func timed(check string, support pinout.Support, says, remedy string) Result {
	switch support {
	case pinout.Yes:
		return Result{Check: check, Says: says}
	case pinout.Marginal:
		return Result{check, Warning, says, "expect cases to be played again and some to stay undecided: " + remedy}
	}
	return Result{check, Wrong, says, remedy}
}
