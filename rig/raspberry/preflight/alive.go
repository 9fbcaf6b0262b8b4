package preflight

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Alive judges what came on the motor lines while the board was at rest: frames, every
// one of them at idle. Slack is the share of its range by which the rig's own lateness may
// have moved the throttle on its wire: what is no further off is a warning as long as slack is
// no more than motors may turn by for the first time.
func Alive(tr *trace.Trace, motors [4]decode.Motor, slack float64) []Result {
	var found []Result
	for _, w := range plant.Wheels {
		found = append(found, alive("motor_"+w.String(), tr, &tr.Motor[w], &motors[w], slack))
	}
	return found
}

// nearIdle is how far from 0 a command may be at rest, share of range: what a pulse
// is uncertain by on a pin. A motor does not turn on it (common practice, no source).
const nearIdle = 0.02

func alive(check string, tr *trace.Trace, o *trace.Output, m *decode.Motor, slack float64) Result {
	frames, furthest, beyond := len(o.Frames), 0.0, 0.0
	for _, f := range o.Frames {
		if x := math.Abs(f.Value) - f.Uncertainty; x > beyond {
			furthest, beyond = f.Value, x
		}
	}
	var events [trace.Command + 1]int
	for _, e := range o.Events {
		if int(e.Kind) < len(events) && (e.Kind != trace.Lost || seen(tr, o, m, e.At)) {
			events[e.Kind]++
		}
	}
	wrong := events[trace.Short] + events[trace.Overlong] + events[trace.Corrupt]
	frames += events[trace.Stop] // a frame that tells the motor to stand still
	format, span := m.Kind.String(), fmt.Sprintf("%.3g s", float64(tr.Rows())*tr.Tick.Seconds())
	switch {
	case frames+events[trace.Uncertain] == 0 && wrong == 0:
		return Result{check, Wrong, "silent for " + span, "see to the board's supply, the wire, and that the board runs without being armed"}
	case frames == 0 && wrong == 0:
		return Result{check, Wrong, fmt.Sprintf("%d pulses, all too uncertain to be read", events[trace.Uncertain]), "look at hilrig timing"}
	case wrong > frames/10:
		return Result{check, Wrong, fmt.Sprintf("%d of %d are no %s", wrong, wrong+frames, format), "see that the bench file names the format that the board sends, and inverted where it is; hilrig rate --find tells"}
	case events[trace.Lost] > 0:
		return Result{check, Wrong, fmt.Sprintf("%d frames in %s, and none for a while between them", frames, span), "see to the board's supply and to the wire, for a loose contact"}
	case beyond > nearIdle+m.CommandStep():
		return atRest(check, furthest, slack, beyond <= nearIdle+m.CommandStep()+min(slack, gentlest))
	case events[trace.Uncertain] > 0:
		return Result{check, Warning, fmt.Sprintf("%d frames at idle, and %d too uncertain to be read", frames, events[trace.Uncertain]), "look at hilrig timing"}
	case wrong > 0:
		return Result{check, Warning, fmt.Sprintf("%d frames at idle, and %d that are no %s", frames, wrong, format), "look at the wire for noise"}
	}
	return Result{Check: check, Says: fmt.Sprintf("%d frames in %s, all at idle", frames, span)}
}

// atRest is what is found of a motor that is commanded while the throttle is at idle. It may be
// the rig's fault, where slack may have moved the throttle so far.
func atRest(check string, furthest, slack float64, rigs bool) Result {
	f := Result{check, Wrong, fmt.Sprintf("is at %.1f %% of its range while the throttle is at idle", 100*furthest), "see that idle and full of motors and throttle are the board's, and that it does not run a motor at rest"}
	late := fmt.Sprintf("the rig was late itself, which a board may take for up to %s %% of throttle: look at hilrig timing", signal.Digits(100*slack, 3))
	switch {
	case rigs:
		f.Grade, f.Remedy = Warning, late
	case slack > nearIdle:
		f.Remedy = late + " first; then " + f.Remedy
	}
	return f
}

// seen says whether a loss at a time is the board's: the sampler looked all the while,
// and read what it saw.
func seen(tr *trace.Trace, o *trace.Output, m *decode.Motor, at signal.Time) bool {
	after := m.Pulse().LostAfter
	if m.Kind.Digital() {
		after = m.DShot.LostAfter
	}
	if after == 0 {
		after = 100 * signal.Millisecond // as decode has it
	}
	for _, s := range tr.NotSampled {
		if s.From <= at && s.To >= at-after {
			return false
		}
	}
	for _, e := range o.Events {
		if e.Kind == trace.Uncertain && e.At <= at && e.At >= at-after {
			return false
		}
	}
	return true
}
