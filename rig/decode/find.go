package decode

import (
	"cmp"
	"fmt"
	"slices"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Guess is a format that a line may carry.
type Guess struct {
	Kind       MotorKind
	Inverted   bool
	Rate       float64 // commands a second, Hz; 0 where there are fewer than two
	Confidence float64 // 0..1: the share of what came that reads so, less what reads as well otherwise
	Why        string  // what speaks for it, in a sentence
}

// leastFrames is how many commands it takes to tell a format.
const leastFrames = 3

// Find tells which formats of motor command a line may carry, the likeliest first.
// edges are those of one line in order of time; edges of other lines than
// the first one's are passed over. It returns nothing where no format reads at least half of
// what came. Confidence is 1 where all reads in one way, and only in that one. A
// second or more of edges is a good length.
func Find(edges []signal.Edge) []Guess {
	var found []candidate
	for k := range MotorKinds {
		for _, inverted := range []bool{false, true} {
			if c, ok := try(edges, k, inverted); ok {
				found = append(found, c)
			}
		}
	}
	settle(found)
	slices.SortStableFunc(found, func(a, b candidate) int { return cmp.Compare(b.guess.Confidence, a.guess.Confidence) })
	var guesses []Guess
	for _, c := range found {
		guesses = append(guesses, c.guess)
	}
	return guesses
}

// candidate is a format with what it read.
type candidate struct {
	guess Guess
	out   trace.Output
	grid  Grid
	good  int // frames and commands
	wrong int
}

// motorFor declares a format as widely as it is used.
func motorFor(k MotorKind, inverted bool) Motor {
	return Motor{
		Kind:  k,
		DShot: DShot{Inverted: inverted, StopIsIdle: true},
		Servo: Servo{Idle: servoIdle(k), Full: 2 * servoIdle(k), Inverted: inverted},
	}
}

// servoIdle is the common width of an idle pulse.
func servoIdle(k MotorKind) signal.Time {
	if k == OneShot125 {
		return oneShotIdle
	}
	return signal.Millisecond
}

// try reads the edges in one format.
func try(edges []signal.Edge, k MotorKind, inverted bool) (c candidate, ok bool) {
	d, err := motorFor(k, inverted).New()
	if err != nil || len(edges) == 0 {
		return c, false
	}
	line := edges[0].Line
	d.Reset(edges[0].At - signal.Millisecond)
	if edges[0].Level == inverted {
		// The line does not rest at this format's level: nobody knows when it began.
		d.Edge(signal.Edge{At: edges[0].At, Uncertainty: uint32(signal.Millisecond), Level: !inverted}, &c.out)
	}
	for _, e := range edges {
		if e.Line == line {
			d.Edge(e, &c.out)
		}
	}
	d.Until(edges[len(edges)-1].At+signal.Millisecond/2, &c.out)
	c.count()
	if c.good < leastFrames || c.good < c.wrong {
		return c, false
	}
	c.grid = GridOf(c.out.Frames)
	c.guess = Guess{Kind: k, Inverted: inverted, Rate: c.grid.Rate(), Confidence: float64(c.good) / float64(c.good+c.wrong)}
	c.guess.Why = c.why()
	return c, true
}

// count sorts what was read.
func (c *candidate) count() {
	c.good = len(c.out.Frames)
	for _, e := range c.out.Events {
		switch e.Kind {
		case trace.Command:
			c.good++
		case trace.Short, trace.Overlong, trace.Corrupt, trace.Backwards:
			c.wrong++
		}
	}
}

// why says what speaks for the format.
func (c *candidate) why() string {
	all := c.good + c.wrong
	if rate := c.guess.Kind.rate(); rate > 0 {
		sum := "checksum"
		if c.guess.Inverted {
			sum = "inverted checksum"
		}
		return fmt.Sprintf("%d of %d frames have the bits of %d kbit/s and the right %s", c.good, all, rate, sum)
	}
	m := motorFor(c.guess.Kind, c.guess.Inverted)
	s, level := m.Pulse(), "high"
	if c.guess.Inverted {
		level = "low"
	}
	us := func(t signal.Time) float64 { return float64(t) / float64(signal.Microsecond) }
	return fmt.Sprintf("%d of %d %s pulses are %g to %g us wide", c.good, all, level, us(s.Least), us(s.Most))
}

// settle lowers the confidence of formats that read the same edges: a pulse and the
// rest between two pulses may both be of a width that a command has. The one whose
// beginnings are the more regular is likelier, for a board starts commands by its timer and
// ends them by their value.
func settle(found []candidate) {
	for i := range found {
		for j := range found {
			a, b := &found[i], &found[j]
			if a.guess.Kind != b.guess.Kind || a.guess.Inverted || !b.guess.Inverted {
				continue
			}
			weight := func(jitter, other float64) float64 {
				const resolution = 1e-6 // s: less is no difference
				return (other + resolution) / (jitter + other + 2*resolution)
			}
			x, y := a.grid.Jitter, b.grid.Jitter
			a.guess.Confidence *= weight(x, y)
			b.guess.Confidence *= weight(y, x)
			const note = "; the other polarity reads as well, and the beginnings of these vary by %.2g us against %.2g us"
			a.guess.Why += fmt.Sprintf(note, x*1e6, y*1e6)
			b.guess.Why += fmt.Sprintf(note, y*1e6, x*1e6)
		}
	}
}
