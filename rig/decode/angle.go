package decode

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// AngleSample is one moment at which the angle of a shaft is known.
type AngleSample struct {
	// At is when the shaft was seen to have come to Count. It came there in
	// (At-Uncertainty, At].
	At          signal.Time
	Uncertainty signal.Time
	// Count is edges since the beginning: quarter lines of a quadrature encoder, positive
	// forward; half pulses of a tacho, odd where its line is high.
	Count int64
	// Break says that between this sample and the one before edges went by unseen, nobody knows
	// how many: angles on both sides do not belong together.
	Break bool
}

// AngleTally counts what was odd about the edges of a shaft.
type AngleTally struct {
	Edges     int64 // all that came, gaps left out
	Illegal   int64 // both lines were seen to change at once: two counts, in the sense of the last one
	Unseen    int64 // counts that went by unseen and were reckoned from the speed before
	Backwards int64 // counts backwards
	Breaks    int64 // samples before which the count was lost
	Disorder  int64 // edges earlier than the one before, which were left out
}

// angleMemory is how many samples are kept to take the speed from.
const angleMemory = 64

// lineUncertainty is by how many counts an edge may stand beside its place on the encoder's disc: marks
// and spaces of unequal width among it (common practice, no source).
const lineUncertainty = 0.25

// Angle reads the angle of a shaft from the edges of its encoder.
//
// The levels of the lines say the count modulo four, of a tacho modulo two. Where the sampler
// looked away for longer than a count lasts, how often the levels went round meanwhile is reckoned
// from the speed over the last samples, as long as that is certain enough to leave one answer;
// otherwise the next sample is a break. A tacho cannot tell the sense of rotation and always counts up.
type Angle struct {
	lines   [2]signal.Line
	pair    bool // two lines
	reverse bool
	modulus int64
	perTurn int64

	now     signal.Time
	looked  signal.Time // when the lines were last seen to change, or not to have been watched
	level   [2]bool     // as of the count
	count   int64
	sense   int64   // of the last count, 0 where there was none
	speed   float64 // counts per nanosecond, as it was known last, without a sign
	pending group
	tally   AngleTally

	ring [angleMemory]AngleSample // the last samples without a break between them
	kept int
	next int
}

// group is what was seen of the lines at one time.
type group struct {
	at    signal.Time
	late  signal.Time // the longest of its uncertainties
	level [2]bool
	twice bool // an edge to the level that its line has already: one before it was not seen
	any   bool
}

// NewAngle returns a decoder for the quadrature encoder that cfg declares, on lines a and b. Its
// index is not read. The error says which value is out of range.
func NewAngle(cfg wire.Quadrature, a, b signal.Line) (*Angle, error) {
	if _, err := wire.NewQuadrature(wire.Quadrature{Lines: cfg.Lines}, a, b, 0); err != nil {
		return nil, err
	}
	if a == b {
		return nil, fmt.Errorf("both lines of an encoder are line %d; give each its own", a)
	}
	return &Angle{lines: [2]signal.Line{a, b}, pair: true, reverse: cfg.Reverse, modulus: 4, perTurn: 4 * int64(cfg.Lines)}, nil
}

// NewTachoAngle returns a decoder for the sensor of one line that cfg declares. The error says
// which value is out of range.
func NewTachoAngle(cfg wire.Tacho, line signal.Line) (*Angle, error) {
	if cfg.Pulses < 1 {
		return nil, fmt.Errorf("tacho of %d pulses per turn; write 1 or more", cfg.Pulses)
	}
	return &Angle{lines: [2]signal.Line{line, line}, modulus: 2, perTurn: 2 * int64(cfg.Pulses)}, nil
}

// Reset forgets all that was read, the tally included, and begins at count 0 and time t with
// the levels that the lines have then; b is not used of a tacho.
func (d *Angle) Reset(t signal.Time, a, b bool) {
	*d = Angle{lines: d.lines, pair: d.pair, reverse: d.reverse, modulus: d.modulus, perTurn: d.perTurn, now: t, looked: t, level: [2]bool{a, b && d.pair}}
}

// Tally returns what was counted since the last Reset.
func (d *Angle) Tally() AngleTally { return d.tally }

// Edge takes the next edge of the encoder's lines and appends the sample that the edges before
// it give. Edges of other lines are passed over; those of one time belong together, and are
// complete with the next one or with Until.
func (d *Angle) Edge(e signal.Edge, dst []AngleSample) []AngleSample {
	i := 0
	switch {
	case e.Line == d.lines[0]:
	case d.pair && e.Line == d.lines[1]:
		i = 1
	default:
		return dst
	}
	if e.At < d.now {
		d.tally.Disorder++
		return dst
	}
	if d.pending.any && e.At > d.pending.at {
		dst = d.settle(dst)
	}
	d.now = e.At
	g, late := &d.pending, signal.Time(e.Uncertainty)
	if !g.any {
		*g = group{at: e.At, level: d.level, any: true}
	}
	g.late = max(g.late, late)
	if e.Level == g.level[i] && late > 0 {
		return dst
	}
	d.tally.Edges++
	if e.Level == g.level[i] || g.level[i] != d.level[i] {
		g.twice = true
	}
	g.level[i] = e.Level
	return dst
}

// Until tells that the lines have kept their levels up to t, and appends the sample that the
// edges before it give.
func (d *Angle) Until(t signal.Time, dst []AngleSample) []AngleSample {
	if t < d.now {
		return dst
	}
	if d.pending.any {
		dst = d.settle(dst)
	}
	d.now = t
	return dst
}

// phase returns the count modulo the modulus that levels show.
func (d *Angle) phase(level [2]bool) int64 {
	switch {
	case !d.pair:
		if level[0] {
			return 1
		}
		return 0
	case d.reverse:
		level[0], level[1] = level[1], level[0]
	}
	switch level {
	case [2]bool{true, false}:
		return 1
	case [2]bool{true, true}:
		return 2
	case [2]bool{false, true}:
		return 3
	}
	return 0
}

// settle takes the group of edges that is complete.
func (d *Angle) settle(dst []AngleSample) []AngleSample {
	g := d.pending
	d.pending = group{}
	part := (d.phase(g.level) - d.phase(d.level) + d.modulus) % d.modulus
	delta, broken := d.step(&g, part)
	d.level, d.looked = g.level, g.at
	if delta == 0 && !broken {
		return dst
	}
	if delta < 0 {
		d.tally.Backwards -= delta
	}
	d.count += delta
	if delta != 0 {
		d.sense = sign(delta)
	}
	if broken {
		d.tally.Breaks++
		d.kept = 0
	}
	s := AngleSample{At: g.at, Uncertainty: g.late, Count: d.count, Break: broken}
	d.ring[d.next] = s
	d.next = (d.next + 1) % angleMemory
	d.kept = min(d.kept+1, angleMemory)
	return append(dst, s)
}

func sign(n int64) int64 {
	switch {
	case n < 0:
		return -1
	case n > 0:
		return 1
	}
	return 0
}

// step returns by how many counts the shaft went on, part modulo the modulus, and whether that
// is not known.
func (d *Angle) step(g *group, part int64) (delta int64, broken bool) {
	near := part // the least step there is
	if d.pair && part == 3 {
		near = -1
	}
	notSampled := min(g.late, g.at-d.looked)
	rate, uncertainty, known := d.rate(g.at - notSampled)
	switch expected := float64(rate * float64(notSampled)); {
	case known && math.Abs(expected) > 1:
		return d.reckon(expected, float64(uncertainty*float64(notSampled)), part)
	case !known && d.speed*float64(notSampled) > 1:
		return near, true
	}
	switch {
	case part == 2 && d.sense == 0: // where the shaft stands at first
		return 0, false
	case part == 2: // of two lines
		d.tally.Illegal++
		return 2 * d.sense, false
	case g.twice && !d.pair:
		d.tally.Unseen += 2
		return part + 2, false
	case g.twice:
		d.tally.Unseen += 2 // there and back
	}
	return near, false
}

// reckon returns the step of that part nearest to the one expected, within an uncertainty.
func (d *Angle) reckon(expected, uncertainty float64, part int64) (delta int64, broken bool) {
	const most = 1 << 31
	if math.Abs(expected) > most {
		return part, true
	}
	m := float64(d.modulus)
	turns := math.Round((expected - float64(part)) / m)
	delta = part + int64(turns)*d.modulus
	off := math.Abs(float64(delta) - expected)
	if seen := max(delta, -delta) - 1; seen > 0 {
		d.tally.Unseen += seen
	}
	return delta, off+uncertainty >= m/2
}

// rate returns the speed in counts per nanosecond at a time up to which the lines were
// watched: over the newer half of the last samples, by how much it may be wrong, and whether there
// were enough of them.
func (d *Angle) rate(watched signal.Time) (rate, uncertainty float64, known bool) {
	if d.kept < 4 {
		return 0, 0, false
	}
	first, middle, last := d.back(d.kept-1), d.back(d.kept/2), d.back(0)
	older, newer := float64(middle.At-first.At), float64(last.At-middle.At)
	if older <= 0 || newer <= 0 {
		return 0, 0, false
	}
	before := float64(middle.Count-first.Count) / older
	rate = float64(last.Count-middle.Count) / newer
	d.speed = math.Abs(rate)
	uncertainty = (float64(d.speed*float64(last.Uncertainty+middle.Uncertainty))+2*lineUncertainty)/newer + math.Abs(rate-before)
	if still := float64(watched - last.At); still > 0 && float64(d.speed*still) > 1 {
		// No count came for longer than one lasted.
		slow := math.Copysign(1/still, rate)
		uncertainty += math.Abs(rate - slow)
		rate = slow
	}
	return rate, uncertainty, true
}

// back returns the sample that came so many before the newest; it has to be kept.
func (d *Angle) back(n int) AngleSample { return d.ring[(d.next+angleMemory-1-n)%angleMemory] }

// Last returns the newest sample; ok is false before the first.
func (d *Angle) Last() (s AngleSample, ok bool) { return d.back(0), d.kept > 0 }

// Rate returns the speed of the shaft at the time known so far, in counts per second, negative
// backwards: over the samples of the last span, of which it takes at least one line's or pulse's, and
// no faster than one count since the newest of them. It is 0 where there are too few.
func (d *Angle) Rate(span signal.Time) float64 {
	least := int(d.modulus)
	if d.kept <= least {
		return 0
	}
	last, n := d.back(0), least
	for n+1 < d.kept && last.At-d.back(n+1).At <= span {
		n++
	}
	first := d.back(n)
	if last.At <= first.At {
		return 0
	}
	rate := float64(last.Count-first.Count) / (last.At - first.At).Seconds()
	if silent := (d.now - last.At).Seconds(); silent > 0 {
		rate = max(min(rate, 1/silent), -1/silent)
	}
	return rate
}

// PerTurn returns how many counts a turn of the shaft has.
func (d *Angle) PerTurn() int64 { return d.perTurn }

// Radians returns the angle of so many counts.
func (d *Angle) Radians(counts float64) float64 { return counts * (2 * math.Pi / float64(d.perTurn)) }
