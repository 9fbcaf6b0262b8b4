package board

import (
	"math"

	"hilrig/rig/signal"
)

// pulser is the unit that puts the four motor commands on their lines. All four
// begin together, unless stagger holds them apart; each is what was latched when
// its frame began.
type pulser struct {
	lines   [4]signal.Line
	idle    [4]bool // level at rest
	period  signal.Time
	stagger signal.Time // seeded fault: from the start of one command to that of the next

	frameAt signal.Time // the next frame
	// What is still to come of the present frame.
	waves [4]wave
	next  [4]signal.Time // the next edge of each; never where there is none
	first signal.Time    // the first of them
}

// never is later than any time.
const never = signal.Time(math.MaxInt64)

// wave is one command on a line: a pulse, or the bits of a frame.
type wave struct {
	start   signal.Time
	bits    uint8
	word    uint16      // the bits, the first on top
	sixteen int64       // length of 16 bits in ns, times 3
	high    signal.Time // width of a pulse that is no bit
	edge    uint8       // edges already made
}

// at returns the time of the next edge.
func (w *wave) at() signal.Time {
	if w.edge == 2*w.bits {
		return never
	}
	if w.sixteen == 0 {
		return w.start + signal.Time(w.edge)*w.high
	}
	// In 128ths of the 16 bits: eight a bit, up for three of them for a 0 and for six for a 1.
	bit := w.edge / 2
	part := 8 * int64(bit)
	if w.edge&1 == 1 {
		part += 3
		if w.word>>(15-bit)&1 == 1 {
			part += 3
		}
	}
	return w.start + signal.Time(part*w.sixteen/(3*128))
}

// due returns the time of the next event.
func (p *pulser) due() signal.Time { return min(p.first, p.frameAt) }

// frame begins a frame at frameAt with these commands.
func (p *pulser) frame(waves [4]wave) {
	p.waves = waves
	for m := range p.waves {
		p.waves[m].start = p.frameAt + p.stagger*signal.Time(m)
		p.next[m] = p.waves[m].at()
	}
	p.look()
}

// look finds the first edge to come.
func (p *pulser) look() {
	p.first = min(p.next[0], p.next[1], p.next[2], p.next[3])
}

// advance appends the edges due at the given time, in the bench's time.
func (p *pulser) advance(at signal.Time, c clock, out []signal.Edge) []signal.Edge {
	for p.first <= at {
		now := p.first
		for m := range p.waves {
			w := &p.waves[m]
			if p.next[m] != now {
				continue
			}
			out = append(out, signal.Edge{At: c.bench(now), Line: p.lines[m], Level: (w.edge&1 == 0) != p.idle[m]})
			w.edge++
			p.next[m] = w.at()
		}
		p.look()
	}
	return out
}

// drop appends the edges that bring every line to its idle level at the given
// time of the bench, and forgets the present frame.
func (p *pulser) drop(at signal.Time, out []signal.Edge) []signal.Edge {
	for m := range p.waves {
		if p.waves[m].edge&1 == 1 {
			out = append(out, signal.Edge{At: at, Line: p.lines[m], Level: p.idle[m]})
		}
		p.waves[m] = wave{}
		p.next[m] = never
	}
	p.first = never
	return out
}
