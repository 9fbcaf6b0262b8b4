package registers

import (
	"hilrig/rig/decode"
	"hilrig/rig/signal"
)

// The loop looks away again and again, if only for an interrupt. What a gap between two
// samples hides is nothing where it is shorter than anything that a line can do
// within it, and where it is longer the line is reported, changed or not: each line has a
// longest gap of its own. A single one for all lines would invalidate each pulse of a
// millisecond by every interrupt that might hide a bit of a port.

// longestGap is for a line of which nothing is known: a few reads on the slowest way to
// the pins.
const longestGap = 5 * signal.Microsecond

// longestGapOf is for a line with motor commands: well below the shortest pulse, and
// below the pause between two, of a pulse format. A frame of bits is judged by its edges.
var longestGapOf = [decode.MotorKinds]signal.Time{
	decode.ServoPulse: 200 * signal.Microsecond, decode.OneShot125: 25 * signal.Microsecond,
	decode.DShot150: longestGap, decode.DShot300: longestGap, decode.DShot600: longestGap,
}

// longestGaps returns the longest gap of each line that goes without mention, by line. The motor
// commands among them carry formats; none: it is not known what.
func longestGaps(layout signal.Layout, formats []decode.MotorKind) []signal.Time {
	out := make([]signal.Time, len(layout.Lines))
	captured := longestGap
	for i, k := range formats {
		if of := longestGapOf[min(k, decode.DShot600)]; i == 0 || of < captured {
			captured = of
		}
	}
	for i, l := range layout.Lines {
		switch {
		case l.Direction == signal.Capture && !l.Role.Stand(), l.Role == signal.ThrottleCommand:
			out[i] = captured
		case l.Role.Receiver():
			out[i] = longestGapOf[decode.ServoPulse]
		default:
			out[i] = longestGap
		}
	}
	for _, p := range layout.Ports {
		if p.Baud > 0 && int(p.Line) < len(out) {
			out[p.Line] = signal.Second / signal.Time(p.Baud) // no bit passes unseen
		}
	}
	return out
}

// gapLimit is the longest gap without mention of some lines.
type gapLimit struct {
	lines   uint32
	longest signal.Time
}

// limit gives lines a longest gap.
func (s *sampler) limit(lines uint32, longest signal.Time) {
	if lines == 0 {
		return
	}
	if len(s.limits) == 0 || longest < s.leastLimit {
		s.leastLimit = longest
	}
	for i := range s.limits {
		if s.limits[i].longest == longest {
			s.limits[i].lines |= lines
			return
		}
	}
	s.limits = append(s.limits, gapLimit{lines, longest})
}

// hidden returns the lines of which a gap has to be reported.
//
//go:nosplit
func (s *sampler) hidden(gap signal.Time) (lines uint32) {
	for i := range s.limits {
		if gap > s.limits[i].longest {
			lines |= s.limits[i].lines
		}
	}
	return lines
}
