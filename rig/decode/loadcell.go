package decode

import (
	"cmp"
	"fmt"

	"hilrig/rig/signal"
)

// Converter declares the 24-bit converter of a load cell on two wires. It holds its data line
// high while it works and pulls it low when a reading is ready. The rig then plays 25 to 27
// clock pulses: at each of the first 24 rises the converter puts out a bit, the most
// significant first, of a number in two's complement; at the 25th it lets the data line go
// high. How many pulses there were selects channel and gain of the next reading; after power-up, and
// after a clock that was high for too long, they are those of 25.
//
// Sources: from memory, data sheets of such converters.
type Converter struct {
	Clock, Data signal.Line
	Clocks      int         // pulses of a readout, 25 to 27
	DropAfter   signal.Time // a clock that is high for longer switches the converter off; 0 means 50 us
	// ReadyWithin is how long the data line may stay high before the converter counts as
	// unplugged; 0 means 1 s, as the slowest give ten readings a second and take four to settle.
	ReadyWithin signal.Time
}

// The numbers of a readout.
const (
	cellBits         = 24
	leastClocks      = 25
	mostClocks       = 27
	defaultDropAfter = 50 * signal.Microsecond
	defaultReady     = signal.Second
	// readoutOver is how long the clock rests before a readout is over: longer than any
	// pulse, and shorter than any conversion.
	readoutOver = 200 * signal.Microsecond
	cellMost    = 1<<(cellBits-1) - 1
)

// CellReading is what a converter gave once.
type CellReading struct {
	// Ready is when the data line was seen low: the conversion had then just ended. It did so in
	// (Ready-Uncertainty, Ready]. Where a reading waited for longer than a conversion lasts, the
	// converter has put a later one in its place, and the line does not tell when.
	Ready       signal.Time
	Uncertainty signal.Time
	End         signal.Time // of the readout: its last falling edge
	Counts      int32       // -8388607 to 8388606: the ends of the range are events
}

// CellEventKind says what went wrong on the wires of a converter.
type CellEventKind uint8

// The events of a converter. With each of them but CellUnplugged a reading is left out.
const (
	CellNotReady  CellEventKind = iota // the clock came while the data line was high
	CellSaturated                      // the reading is the least or the most that there is
	CellUnplugged                      // the data line did not go low for too long
	CellClockHigh                      // the clock was high, or may have been, for so long that the converter starts anew
	CellClocks                         // there were more or fewer clock pulses than declared
	CellStuck                          // the data line did not go high after the last bit
	CellGain                           // the reading was taken at the gain of an earlier readout
	CellUncertain                      // the stamps leave a bit open, or an edge belongs to none
)

var cellEventNames = [...]string{"not ready", "saturated", "unplugged", "clock high", "clocks", "stuck", "gain", "uncertain"}

// String returns the event's name, "not ready".
func (k CellEventKind) String() string {
	if int(k) >= len(cellEventNames) {
		return fmt.Sprintf("cell event %d", uint8(k))
	}
	return cellEventNames[k]
}

// CellEvent is one thing on a converter's wires that is no reading.
type CellEvent struct {
	At   signal.Time
	Kind CellEventKind
}

// CellOutput is all that a converter gave.
type CellOutput struct {
	Readings []CellReading // in order of End
	Events   []CellEvent   // in order of At
}

// LoadCell reads a load cell's converter from its data line and the clock that the rig plays.
//
// An edge of data belongs to the rise of the clock that it follows by less than half of
// the shortest pulse period of its readout; one that can belong to two rises, as far as the stamps
// tell, makes the reading uncertain.
type LoadCell struct {
	cfg    Converter
	clock  queue
	data   queue
	now    signal.Time
	low    bool        // level of the data line as of now, turned over
	fell   signal.Edge // when it went low
	high   signal.Time // since when nothing was ready
	absent bool        // said so
	known  bool        // the next reading is taken at the declared gain
	said   signal.Time
	burst  readout
}

// queue holds edges that have not been taken yet.
type queue struct {
	edges []signal.Edge
	next  int
}

func (q *queue) push(e signal.Edge) {
	if q.next > len(q.edges)/2 {
		q.edges, q.next = append(q.edges[:0], q.edges[q.next:]...), 0
	}
	q.edges = append(q.edges, e)
}

// head returns the first edge, up to a time.
func (q *queue) head(until signal.Time) (e signal.Edge, ok bool) {
	if q.next == len(q.edges) || q.edges[q.next].At > until {
		return e, false
	}
	return q.edges[q.next], true
}

// readout is one burst of clock pulses.
type readout struct {
	any        bool
	ready      bool        // the data line was low when it began
	fell       signal.Edge // since then
	rises      [mostClocks + 1]signal.Edge
	count      int // rises, those without room too
	up         bool
	last       signal.Edge // of the clock
	changes    [mostClocks + 1]signal.Edge
	changed    int // those without room too
	dropped    bool
	notSampled signal.Time // the longest time in which nobody looked
	missed     bool        // an edge was not seen
}

// NewLoadCell returns a decoder for the converter that cfg declares. The error says which value
// is out of range.
func NewLoadCell(cfg Converter) (*LoadCell, error) {
	cfg.DropAfter = cmp.Or(cfg.DropAfter, defaultDropAfter)
	cfg.ReadyWithin = cmp.Or(cfg.ReadyWithin, defaultReady)
	switch {
	case cfg.Clocks < leastClocks || cfg.Clocks > mostClocks:
		return nil, fmt.Errorf("readout of %d clocks; write %d to %d", cfg.Clocks, leastClocks, mostClocks)
	case cfg.Clock == cfg.Data:
		return nil, fmt.Errorf("clock and data of a converter are both line %d; give each its own", cfg.Data)
	case cfg.DropAfter < 0 || cfg.DropAfter > readoutOver:
		return nil, fmt.Errorf("a clock high for %v drops the reading; write a time up to %v", cfg.DropAfter, readoutOver)
	case cfg.ReadyWithin < signal.Millisecond:
		return nil, fmt.Errorf("a converter ready within %v; write 1 ms or more", cfg.ReadyWithin)
	}
	d := &LoadCell{cfg: cfg}
	d.Reset(0)
	return d, nil
}

// Reset forgets all that was read and begins at t, with the clock low, the data line high and a
// converter that has just been powered.
func (d *LoadCell) Reset(t signal.Time) {
	*d = LoadCell{
		cfg: d.cfg, now: t, high: t, said: t, known: d.cfg.Clocks == leastClocks,
		clock: queue{edges: d.clock.edges[:0]}, data: queue{edges: d.data.edges[:0]},
	}
}

// Ready says whether a reading waited to be read out at the time known so far.
func (d *LoadCell) Ready() bool { return d.low && !d.burst.any }

// Edge takes the next edge of the clock, as planned or as read back, or of the data line. Edges
// of each of the two lines come in order of time; edges of other lines are passed over. They
// may lie ahead of what Until has told.
func (d *LoadCell) Edge(e signal.Edge) {
	switch e.Line {
	case d.cfg.Clock:
		d.clock.push(e)
	case d.cfg.Data:
		d.data.push(e)
	}
}

// Until tells that there are no further edges up to t than those that were given, and appends
// what is complete: a reading some time after its last clock pulse.
func (d *LoadCell) Until(t signal.Time, out *CellOutput) {
	for {
		c, clock := d.clock.head(t)
		e, data := d.data.head(t)
		switch {
		case clock && (!data || c.At <= e.At):
			d.clock.next++
			d.pass(c.At, out)
			d.onClock(c, out)
		case data:
			d.data.next++
			d.pass(e.At, out)
			d.onData(e)
		default:
			d.pass(t, out)
			return
		}
	}
}

// pass lets time pass.
func (d *LoadCell) pass(t signal.Time, out *CellOutput) {
	b := &d.burst
	if b.any && b.up && !b.dropped && t-b.last.At > d.cfg.DropAfter {
		d.drop(b.last.At+d.cfg.DropAfter, out)
	}
	if b.any && !b.up && t-b.last.At > readoutOver {
		d.finish(out)
		*b = readout{}
	}
	d.now = max(d.now, t)
	if !d.low && !b.any && !d.absent && t-d.high > d.cfg.ReadyWithin {
		d.absent = true
		d.event(CellUnplugged, d.high+d.cfg.ReadyWithin, out)
	}
}

// drop notes that the converter starts anew.
func (d *LoadCell) drop(at signal.Time, out *CellOutput) {
	d.burst.dropped = true
	d.known = d.cfg.Clocks == leastClocks
	d.event(CellClockHigh, at, out)
}

// onClock takes an edge of the clock.
func (d *LoadCell) onClock(e signal.Edge, out *CellOutput) {
	b := &d.burst
	if e.Level == b.up {
		b.overlook(e)
		return
	}
	if !b.any {
		*b = readout{any: true, ready: d.low, fell: d.fell}
	}
	if !e.Level && !b.dropped && e.At-b.last.At+signal.Time(b.last.Uncertainty) > d.cfg.DropAfter {
		d.drop(e.At, out)
	}
	b.up, b.last = e.Level, e
	if !e.Level {
		return
	}
	if b.count < len(b.rises) {
		b.rises[b.count] = e
	}
	b.count++
}

// onData takes an edge of the data line.
func (d *LoadCell) onData(e signal.Edge) {
	b := &d.burst
	if low := !e.Level; low == d.low {
		b.overlook(e)
		return
	}
	d.low = !e.Level
	if d.low {
		d.fell, d.absent = e, false
	} else {
		d.high = e.At
	}
	if !b.any {
		return
	}
	if b.changed < len(b.changes) {
		b.changes[b.changed] = e
	}
	b.changed++
}

// overlook takes an edge to the level that its line has already: a gap, or one before it was not seen.
func (b *readout) overlook(e signal.Edge) {
	if e.Uncertainty > 0 {
		b.notSampled = max(b.notSampled, signal.Time(e.Uncertainty))
	} else {
		b.missed = true
	}
}

// finish gives what the readout was.
func (d *LoadCell) finish(out *CellOutput) {
	b, at := &d.burst, d.burst.last.At
	if b.dropped {
		return
	}
	known := d.known
	d.known = b.count == d.cfg.Clocks
	value, stuck, ok := int32(0), false, false
	if b.count == d.cfg.Clocks && b.ready {
		value, stuck, ok = b.bits()
	}
	switch {
	case !b.ready && !b.missed && b.notSampled == 0:
		d.event(CellNotReady, at, out)
	case b.count != d.cfg.Clocks && !b.missed && b.notSampled == 0:
		d.event(CellClocks, at, out)
	case !ok:
		d.event(CellUncertain, at, out)
	case stuck:
		d.event(CellStuck, at, out)
	case !known:
		d.event(CellGain, at, out)
	case value == cellMost || value == -cellMost-1:
		d.event(CellSaturated, at, out)
	default:
		out.Readings = append(out.Readings, CellReading{Ready: b.fell.At, Uncertainty: signal.Time(b.fell.Uncertainty), End: at, Counts: value})
	}
}

// bits returns the number that a complete readout holds, and whether the data line was still low
// after it. ok is false where the stamps leave a bit open.
func (b *readout) bits() (value int32, stuck, ok bool) {
	if b.missed || b.changed > len(b.changes) {
		return 0, false, false
	}
	rises := b.rises[:b.count]
	period := rises[1].At - rises[0].At
	for i := range rises[1:] {
		period = min(period, rises[i+1].At-rises[i].At)
	}
	first := rises[0].At - signal.Time(rises[0].Uncertainty)
	if b.fell.At > first || b.notSampled >= period/2 {
		return 0, false, false // it may not have been ready yet, or a bit may have come and gone
	}
	level, next, word := false, 0, uint32(0)
	for i := range rises {
		if next < b.changed && b.follows(b.changes[next], i, period/2) {
			level = b.changes[next].Level
			if i+1 < len(rises) && b.follows(b.changes[next], i+1, period/2) {
				return 0, false, false
			}
			next++
		}
		if i < cellBits {
			word <<= 1
			if level {
				word |= 1
			}
		}
	}
	if next < b.changed {
		return 0, false, false
	}
	return int32(word<<8) >> 8, !level, true
}

// follows says whether an edge of data may follow a rise of the clock by less than within.
func (b *readout) follows(e signal.Edge, rise int, within signal.Time) bool {
	r := b.rises[rise]
	return e.At-r.At+signal.Time(r.Uncertainty) >= 0 && e.At-signal.Time(e.Uncertainty)-r.At < within
}

// event appends an event, none earlier than the one before it.
func (d *LoadCell) event(k CellEventKind, at signal.Time, out *CellOutput) {
	d.said = max(d.said, at)
	out.Events = append(out.Events, CellEvent{At: d.said, Kind: k})
}
