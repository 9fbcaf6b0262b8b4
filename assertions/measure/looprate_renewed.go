package measure

import "math"

// How far an output has to be expected to move, in its steps, for a frame to be due another value, and how
// far it has to have moved for the value to be another: an output that is dithered goes to and fro by
// one step with no reading.
const (
	dueSteps     = 2.5
	renewedSteps = 1.5
)

// fewestDue is how many times a new value has to have been due for the share of those that came to be told.
const fewestDue = 20

// renewed returns the longest mean time from reading to reading that the values allow, s: a value that
// is another was read anew, however loop and frames stand to each other and whatever noise there
// is. It looks at values so many frames apart that the input moves the output by some of its steps, and
// counts those that moved. It is LongestPeriod, beyond which no loop is looked for, where the output moves too little.
func (s *search) renewed() float64 {
	limited := clipped(s.raw, s.step)
	longest := LongestPeriod
	for apart := 1; float64(apart)*s.frame <= LongestPeriod; apart *= 2 {
		due, came := 0.0, 0.0
		for i := apart; i < len(s.raw); i += apart {
			first, last := &s.raw[i-apart], &s.raw[i]
			if limited(first) || limited(last) || last.At-first.At > (float64(apart)+0.5)*s.frame {
				continue
			}
			c, open := s.exact.curve, first.Uncertainty+last.Uncertainty
			if math.Abs(c.at(last.At-s.age)-c.at(first.At-s.age)) < float64(dueSteps*s.step)+open {
				continue
			}
			due++
			if math.Abs(last.Value-first.Value) > float64(renewedSteps*s.step)+open {
				came++
			}
		}
		if due < fewestDue {
			continue
		}
		share := came / due
		// As many come at least, but for chance, where each came or not by itself.
		if share -= float64(2.6*math.Sqrt(share*(1-share)/due)) + 1/due; share > 0 {
			longest = min(longest, float64(apart)*s.frame/share)
		}
	}
	return longest
}
