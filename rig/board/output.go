package board

import "hilrig/rig/signal"

// pulser is the unit that makes the four motor pulses. All four begin together,
// unless stagger holds them apart; each lasts the width that was latched when
// its frame began.
type pulser struct {
	lines   [4]signal.Line
	idle    [4]bool // level between pulses
	period  signal.Time
	stagger signal.Time // seeded fault: from the start of one pulse to that of the next

	frameAt signal.Time // the next frame
	// What is still to come of the present frame, in order of time.
	events [8]pulseEvent
	first  int
	n      int
	high   [4]bool // not at idle level
}

// pulseEvent is the beginning or end of one pulse.
type pulseEvent struct {
	at    signal.Time
	motor uint8
	high  bool
}

// due returns the time of the next event.
func (p *pulser) due() signal.Time {
	if p.first < p.n && p.events[p.first].at < p.frameAt {
		return p.events[p.first].at
	}
	return p.frameAt
}

// frame begins a frame at frameAt with these widths.
func (p *pulser) frame(width [4]signal.Time) {
	p.first, p.n = 0, 0
	for m := range width {
		at := p.frameAt + p.stagger*signal.Time(m)
		p.insert(pulseEvent{at, uint8(m), true})
		p.insert(pulseEvent{at + width[m], uint8(m), false})
	}
}

// insert puts an event behind all that are not later.
func (p *pulser) insert(e pulseEvent) {
	i := p.n
	for ; i > 0 && p.events[i-1].at > e.at; i-- {
		p.events[i] = p.events[i-1]
	}
	p.events[i] = e
	p.n++
}

// play appends the events due at the given time, in the bench's time.
func (p *pulser) play(at signal.Time, c clock, out []signal.Edge) []signal.Edge {
	for p.first < p.n && p.events[p.first].at <= at {
		e := p.events[p.first]
		p.first++
		p.high[e.motor] = e.high
		out = append(out, signal.Edge{At: c.bench(e.at), Line: p.lines[e.motor], Level: e.high != p.idle[e.motor]})
	}
	return out
}

// drop appends the edges that bring every line to its idle level at the given
// time of the bench, and forgets the present frame.
func (p *pulser) drop(at signal.Time, out []signal.Edge) []signal.Edge {
	p.first, p.n = 0, 0
	for m := range p.high {
		if p.high[m] {
			p.high[m] = false
			out = append(out, signal.Edge{At: at, Line: p.lines[m], Level: p.idle[m]})
		}
	}
	return out
}
