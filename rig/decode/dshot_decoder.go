package decode

import (
	"cmp"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// DShotDecoder reads the commands of one line of digital frames.
//
// A frame is recognised by the rest after it, and is given once that has lasted a
// bit and a quarter. Where stamps alone leave a bit open, all of its rising edges are fitted to one grid, and each
// pulse is read from its place there: see dshot_slots.go. A single bit that is still open is settled by the
// checksum, and a Settled event stands beside the frame. One that the sampler left open, in two bits or in how
// many there were, is one Uncertain event and left out. One that is wrong is one event:
// Corrupt for a wrong checksum or timing, Short or Overlong for pulses or a number of bits
// too small or too large.
type DShotDecoder struct {
	cfg     DShot
	timing  dshotTiming
	now     signal.Time
	good    signal.Time // from here the wait for a frame counts
	said    signal.Time // time of the last event
	started bool
	lost    bool
	active  bool // the line is not at rest

	idleFrom   signal.Time // since when the line was watched and at rest
	notSampled bool        // what it did before idleFrom is not known
	frame      dshotFrame
	see        func(Reading)
}

// dshotFrame is the frame under way.
type dshotFrame struct {
	start  signal.Time
	rise   signal.Edge // of the last bit begun
	rises  [frameBits]stamp
	falls  [frameBits]stamp
	begun  bool
	bits   int // complete ones
	word   uint32
	either uint32  // those of its bits that may be 0 as well as 1
	sure   bool    // it was seen to begin, and nothing is wrong with what leads
	lost   bool    // how many bits there are is not known
	leads  leading // with lost
	coarse bool    // the sampler may be to blame for what is wrong
	wrong  bool
	kind   trace.EventKind // of what was wrong first
}

// stamp is when an edge was, which lies in (at-late, at].
type stamp struct{ at, late signal.Time }

// leading are the bits of a frame before some may have gone by unseen.
type leading struct {
	count        int
	word, either uint32 // as of the frame
}

// invalidate notes what is wrong with the frame.
func (f *dshotFrame) invalidate(k trace.EventKind) {
	if !f.wrong {
		f.wrong, f.kind = true, k
	}
}

// lose notes that bits may have gone by unseen from here on.
func (f *dshotFrame) lose() {
	if f.begun && !f.lost {
		f.lost, f.leads = true, leading{min(f.bits, frameBits), f.word, f.either}
		f.sure = f.sure && !f.wrong
	}
}

// NewDShot returns a decoder for the line that cfg declares. The error says
// which value of cfg is wrong.
func NewDShot(cfg DShot) (*DShotDecoder, error) {
	cfg.LostAfter = cmp.Or(cfg.LostAfter, defaultLostAfter)
	cfg.Tolerance = cmp.Or(cfg.Tolerance, mostTolerance)
	if err := cfg.check(); err != nil {
		return nil, err
	}
	return &DShotDecoder{cfg: cfg, timing: newDShotTiming(cfg.Rate, cfg.Tolerance)}, nil
}

// Reset forgets all that was read and begins to wait for a frame at t, the line
// at rest. A decoder that was never reset begins with its first call of Edge or Until.
func (d *DShotDecoder) Reset(t signal.Time) {
	d.now, d.good, d.said, d.idleFrom = t, t, t, t
	d.started, d.lost, d.active, d.notSampled = true, false, false, true
	d.frame = dshotFrame{}
}

// Observe has see called with each frame once it is known to be over, bursts of less
// than half a frame left out; nil ends it.
func (d *DShotDecoder) Observe(see func(Reading)) { d.see = see }

// Until tells that the line has kept its level up to t. A complete frame is then
// given; one that is not waits for the next edge, for the sampler may have stalled.
// When no frame has ended for longer than LostAfter, one Lost event is appended, at
// the time when that was so.
func (d *DShotDecoder) Until(t signal.Time, out *trace.Output) {
	if !d.started {
		d.Reset(t)
	}
	if t < d.now {
		return
	}
	f := &d.frame
	if f.bits == frameBits && !d.active && !f.lost && !f.wrong && t-d.idleFrom >= d.timing.quiet {
		d.now = d.idleFrom + d.timing.quiet
		d.finish(out)
	}
	d.pass(t, out)
}

// pass lets time pass without a look at the frame.
func (d *DShotDecoder) pass(t signal.Time, out *trace.Output) {
	d.now = t
	if d.lost || t-d.good <= d.cfg.LostAfter {
		return
	}
	if !d.active {
		d.finish(out)
	}
	if t-d.good > d.cfg.LostAfter {
		d.lost = true
		d.event(trace.Lost, d.good+d.cfg.LostAfter, out)
	}
}

// Edge takes the line's next edge. One earlier than the time known so far is
// dropped, with an event.
func (d *DShotDecoder) Edge(e signal.Edge, out *trace.Output) {
	if !d.started {
		d.Reset(e.At)
	}
	if e.At < d.now {
		d.frame.lose()
		d.event(trace.Backwards, d.now, out)
		return
	}
	late := signal.Time(e.Uncertainty)
	if !d.active && d.frame.begun && d.over(e.At-late, late) {
		d.finish(out)
	}
	d.pass(e.At, out)
	switch active := e.Level != d.cfg.Inverted; {
	case active == d.active:
		d.gap(e)
	case active:
		d.rise(e)
	default:
		d.fall(e, out)
	}
}

// over says whether the frame is over at an edge before which the line was watched
// at rest until quiet, and then not watched for late.
func (d *DShotDecoder) over(quiet, late signal.Time) bool {
	if quiet-d.idleFrom >= d.timing.quiet {
		return true
	}
	// All bits are there, and what comes after them was not seen.
	return d.frame.bits == frameBits && late >= d.timing.hidden
}

// gap takes an edge to the level that the line has already.
func (d *DShotDecoder) gap(e signal.Edge) {
	late := signal.Time(e.Uncertainty)
	if late > 0 && late < d.timing.hidden {
		return
	}
	d.good = min(d.good+late, d.now) // nothing can be missed where nothing was watched
	d.frame.lose()
	if !d.active {
		d.idleFrom, d.notSampled = e.At, true
	}
}

// rise takes the beginning of a bit.
func (d *DShotDecoder) rise(e signal.Edge) {
	d.active = true
	f, t, late := &d.frame, &d.timing, signal.Time(e.Uncertainty)
	if !f.begun {
		*f = dshotFrame{start: e.At, begun: true, coarse: late >= t.hidden}
		if e.At-late-d.idleFrom < t.quiet {
			if d.notSampled {
				f.coarse = true
			} else {
				f.invalidate(trace.Overlong) // it is the rest of a frame without end
			}
		}
		f.sure = !f.coarse
	} else {
		least, most := e.At-late-f.rise.At, e.At-f.rise.At+signal.Time(f.rise.Uncertainty)
		switch {
		case most < t.bitLeast || least > t.bitMost:
			f.invalidate(trace.Corrupt)
		case most >= t.twoBits:
			f.lose()
		}
		f.coarse = f.coarse || late >= t.hidden
	}
	f.rise = e
	if f.bits < frameBits {
		f.rises[f.bits] = stamp{e.At, late}
	}
}

// fall takes the end of a bit.
func (d *DShotDecoder) fall(e signal.Edge, out *trace.Output) {
	f, t, late := &d.frame, &d.timing, signal.Time(e.Uncertainty)
	d.active, d.idleFrom, d.notSampled = false, e.At, late >= t.hidden
	least, most := e.At-late-f.rise.At, e.At-f.rise.At+signal.Time(f.rise.Uncertainty)
	if f.bits < frameBits {
		f.falls[f.bits] = stamp{e.At, late}
	}
	zero, one := t.may(least, most)
	f.word, f.either = f.word<<1, f.either<<1
	switch {
	case zero && one:
		f.either |= 1
	case one:
		f.word |= 1
	case zero:
	case most < t.zeroLeast:
		f.invalidate(trace.Short)
	case least > t.oneMost:
		f.invalidate(trace.Overlong)
	default:
		f.invalidate(trace.Corrupt)
	}
	f.coarse = f.coarse || d.notSampled
	f.bits++
	if f.bits > frameBits {
		f.invalidate(trace.Overlong)
	}
	if f.bits >= 2*frameBits { // there may be no end to it
		d.finish(out)
	}
}

// finish ends the frame under way, if there is one, and gives what it was.
func (d *DShotDecoder) finish(out *trace.Output) {
	f := &d.frame
	if !f.begun {
		return
	}
	at := min(d.idleFrom+d.timing.quiet, d.now)
	measured := d.give(f, at, out)
	if d.see != nil {
		d.read(f, at, measured)
	}
	*f = dshotFrame{}
}

// give gives what a frame was, known at a time, and says whether that is a command.
func (d *DShotDecoder) give(f *dshotFrame, at signal.Time, out *trace.Output) (measured bool) {
	if f.bits < frameBits {
		f.invalidate(trace.Short)
	}
	settled := false
	if !f.lost && !f.wrong && f.either != 0 {
		f.slots(&d.timing)
		settled = f.settle(d.cfg.Inverted)
	}
	switch {
	case f.lost || f.either != 0 || f.wrong && f.coarse:
		d.alive(at)
		d.event(trace.Uncertain, at, out)
		return false
	case f.wrong:
		d.event(f.kind, at, out)
		return false
	case !sound(f.word, d.cfg.Inverted): // each of its bits is known
		d.event(trace.Corrupt, at, out)
		return false
	}
	d.alive(d.idleFrom)
	value := int(f.word >> 5)
	switch {
	case value == 0:
		d.event(trace.Stop, at, out)
		if !d.cfg.StopIsIdle {
			return true
		}
		value = leastValue
		if d.cfg.TwoDirection && !d.cfg.ForwardLower {
			value = middleValue
		}
	case value < leastValue:
		d.event(trace.Command, at, out)
		return true
	}
	out.Frames = append(out.Frames, trace.Frame{Start: f.start, End: d.idleFrom, Value: d.cfg.command(value)})
	if settled {
		d.event(trace.Settled, d.idleFrom, out)
	}
	return true
}

// alive notes that the line gave a frame at t.
func (d *DShotDecoder) alive(t signal.Time) { d.good, d.lost = max(d.good, t), false }

// event appends an event, none earlier than the one before it.
func (d *DShotDecoder) event(k trace.EventKind, at signal.Time, out *trace.Output) {
	d.said = max(d.said, at)
	out.Events = append(out.Events, trace.Event{At: d.said, Kind: k})
}
