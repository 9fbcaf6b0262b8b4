package chardev

import "hilrig/rig/signal"

// burstRest is the shortest pause between two edges that parts two bursts: ten times
// what a stamp is late by on a Pi 5 (see [StampUncertainty]).
const burstRest = 200 * signal.Microsecond

// putOut is one edge at the end of a jumper that is driven.
type putOut struct {
	from, to signal.Time // the call
	level    bool
}

// stamped is one edge as the kernel reported it.
type stamped struct {
	at    signal.Time
	level bool
}

// matcher holds what the kernel reported against what was put out, burst by burst: in one
// of which as many edges were reported as put out, in the same directions, each belongs to
// the one at its place. Where they differ, nobody knows which was lost.
type matcher struct {
	measured *JumperMeasurement
	out      []putOut
	reported []stamped
	begun    int // edges of out that are in its first burst for sure
	before   putOut
	heard    stamped // of before
	paired   bool    // before was reported
}

// settle deals with the bursts that ended by a time, up to which all is known.
func (m *matcher) settle(until signal.Time) {
	for i := max(m.begun, 1); i < len(m.out); i++ {
		if next := m.out[i].from; next-m.out[i-1].to >= burstRest {
			if next > until {
				return
			}
			n := 0
			for n < len(m.reported) && m.reported[n].at < next {
				n++
			}
			m.burst(m.out[:i], m.reported[:n])
			m.out = m.out[:copy(m.out, m.out[i:])]
			m.reported = m.reported[:copy(m.reported, m.reported[n:])]
			i = 0
		}
		m.begun = i
	}
}

// end deals with what is left.
func (m *matcher) end() {
	m.settle(signal.Time(1<<63 - 1))
	m.burst(m.out, m.reported)
	m.out, m.reported, m.begun = m.out[:0], m.reported[:0], 0
}

// burst pairs the edges of one burst.
func (m *matcher) burst(out []putOut, reported []stamped) {
	k := m.measured
	for len(reported) > 0 && (len(out) == 0 || reported[0].at < out[0].from) {
		k.Heard++
		k.Extra++
		reported = reported[1:]
	}
	k.Heard += uint64(len(reported))
	turned := uint64(0)
	for i := range min(len(out), len(reported)) {
		if reported[i].level != out[i].level || reported[i].at < out[i].from {
			turned++
		}
	}
	switch {
	case len(reported) < len(out):
		k.Lost += uint64(len(out) - len(reported))
	case len(reported) > len(out):
		k.Extra += uint64(len(reported) - len(out))
	case turned == 0:
		for i := range out {
			m.pair(out[i], reported[i])
		}
		return
	default:
		k.Turned += turned
	}
	k.Invalidated++
	m.paired = false
}

// widest is the longest pulse whose width is looked at.
const widest = 25 * signal.Millisecond

// pair notes what lies between an edge and its stamp, and how wide the pulse before it
// came out.
func (m *matcher) pair(out putOut, reported stamped) {
	m.measured.Stamps.Add(reported.at - out.from)
	if m.paired && out.from-m.before.from <= widest {
		put := (out.from + out.to - m.before.from - m.before.to) / 2
		off := reported.at - m.heard.at - put
		m.measured.Widths.Add(max(off, -off))
	}
	m.before, m.heard, m.paired = out, reported, true
}
