package assertions

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// unwatched is the share of a window that the sampler has to miss before it may have missed
// all commands of a motor that sends them steadily.
const unwatched = 0.5

// NotRead says why no command of motor w is left in the step's window although the board
// may have sent some, or would have: the sampler left all of them open or did not look, or
// the rig's own lateness may have moved them or kept the board from sending them. It is
// empty where commands are left, and where none came for none of these reasons: then the
// motor was silent.
func (e *Evidence) NotRead(w plant.Wheel, s *Step) string {
	if e.Trace == nil || len(e.frames(w, s)) > 0 {
		return ""
	}
	if n := len(e.allFrames(w, s)); n > 0 {
		return fmt.Sprintf("the rig played its own wires late, which may have moved all %d commands of %s in the window", n, line(w))
	}
	if n := e.openIn(w, s); n > 0 {
		return fmt.Sprintf("the sampler left open all %d commands of %s in the window", n, line(w))
	}
	if unsampled := e.notSampledFor(s); s.To > s.From && unsampled.Seconds() >= unwatched*(s.To-s.From).Seconds() {
		return fmt.Sprintf("the sampler did not look for %s of the window's %s, and saw no command of %s", unsampled.Short(), (s.To - s.From).Short(), line(w))
	}
	if still := e.undisturbed(s); still.Seconds() < keptShare*(s.To-s.From).Seconds() {
		return fmt.Sprintf("the rig played its own wires late, or cannot tell that it did not, which leaves %s of the window's %s in which that cannot have kept %s from a command", still.Short(), (s.To - s.From).Short(), line(w))
	}
	return ""
}

// undisturbed returns for how long of a held step's window nothing that the rig played
// late may have moved a motor; of any other step the whole window.
func (e *Evidence) undisturbed(s *Step) signal.Time {
	if !e.held(s) {
		return s.To - s.From
	}
	return s.To - s.From - covered(e.disturbed(s), s)
}

// openIn returns how many commands of a motor the sampler left open in the step's window.
func (e *Evidence) openIn(w plant.Wheel, s *Step) int {
	return openBetween(&e.Trace.Motor[w], s.From, s.To)
}

// openBetween returns how many commands the sampler left open in [from, to).
func openBetween(o *trace.Output, from, to signal.Time) (n int) {
	for _, event := range o.EventsBetween(from, to) {
		if event.Kind == trace.Uncertain {
			n++
		}
	}
	return n
}

// notSampledFor returns for how long of the step's window the sampler did not look.
func (e *Evidence) notSampledFor(s *Step) signal.Time { return covered(e.Trace.NotSampled, s) }

// covered returns how much of the step's window lies in spans, which are in order of their
// beginnings.
func covered(spans []trace.Span, s *Step) (sum signal.Time) {
	until := s.From
	for _, x := range spans {
		if from, to := max(x.From, until), min(x.To, s.To); to > from {
			sum, until = sum+to-from, to
		}
	}
	return sum
}
