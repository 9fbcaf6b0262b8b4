package registers

import (
	"math"

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
// below the pause between two, of a pulse format; of a frame of bits the shortest level, that behind the
// longest 1, so that no tick of the kernel takes a bit away unseen. See sampler.allow.
var longestGapOf = [decode.MotorKinds]signal.Time{
	decode.ServoPulse: 200 * signal.Microsecond, decode.OneShot125: 25 * signal.Microsecond,
	decode.DShot150: 1000, decode.DShot300: 500, decode.DShot600: 250,
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
	wanted  signal.Time // longest is that, or longer where the loop is slow and yields says so
	yields  bool
}

// limit gives lines a longest gap, which yields to a slow loop or does not.
func (s *sampler) limit(lines uint32, longest signal.Time, yields bool) {
	if lines == 0 {
		return
	}
	if len(s.limits) == 0 || longest < s.leastLimit {
		s.leastLimit = longest
	}
	for i := range s.limits {
		if s.limits[i].wanted == longest && s.limits[i].yields == yields {
			s.limits[i].lines |= lines
			return
		}
	}
	s.limits = append(s.limits, gapLimit{lines, longest, longest, yields})
}

const (
	// outstanding is how many times as long as usual a gap is that a loop has not as a rule.
	outstanding = 2
	// startUsual is the gap that a loop is held to have before it has run.
	startUsual = signal.Microsecond
)

// allow lets gaps go without mention that are below outstanding times the usual one, where limits yield:
// told of each, nobody would have time for the edges.
//
//go:nosplit
func (s *sampler) allow(usual signal.Time) {
	s.usual = usual
	if len(s.limits) == 0 {
		return
	}
	s.leastLimit = math.MaxInt64
	for i := range s.limits {
		l := &s.limits[i]
		if l.longest = l.wanted; l.yields && l.wanted < outstanding*usual {
			l.longest = outstanding * usual
		}
		if l.longest < s.leastLimit {
			s.leastLimit = l.longest
		}
	}
}

// follow looks at the newest gap. The usual one goes up a nanosecond where that is longer, and down where it is
// shorter: about half are longer than where it stays.
//
//go:nosplit
func (s *sampler) follow() {
	s.stamps.Add(s.last)
	usual := s.usual
	if s.last > usual {
		usual++
	} else {
		usual--
	}
	s.allow(usual)
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
