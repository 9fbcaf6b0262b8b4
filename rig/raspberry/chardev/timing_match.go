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

// stamped is one edge as the kernel told it.
type stamped struct {
	at    signal.Time
	level bool
}

// matcher holds what the kernel told against what was put out, burst by burst: in one
// of which as many edges were told as put out, in the same directions, each belongs to
// the one at its place. Where they differ, nobody knows which was lost.
type matcher struct {
	kept   *JumperKept
	out    []putOut
	told   []stamped
	begun  int // edges of out that are in its first burst for sure
	before putOut
	heard  stamped // of before
	paired bool    // before was told
}

// settle deals with the bursts that ended by a time, up to which all is known.
func (m *matcher) settle(until signal.Time) {
	for i := max(m.begun, 1); i < len(m.out); i++ {
		if next := m.out[i].from; next-m.out[i-1].to >= burstRest {
			if next > until {
				return
			}
			n := 0
			for n < len(m.told) && m.told[n].at < next {
				n++
			}
			m.burst(m.out[:i], m.told[:n])
			m.out = m.out[:copy(m.out, m.out[i:])]
			m.told = m.told[:copy(m.told, m.told[n:])]
			i = 0
		}
		m.begun = i
	}
}

// end deals with what is left.
func (m *matcher) end() {
	m.settle(signal.Time(1<<63 - 1))
	m.burst(m.out, m.told)
	m.out, m.told, m.begun = m.out[:0], m.told[:0], 0
}

// burst pairs the edges of one burst.
func (m *matcher) burst(out []putOut, told []stamped) {
	k := m.kept
	for len(told) > 0 && (len(out) == 0 || told[0].at < out[0].from) {
		k.Heard++
		k.Extra++
		told = told[1:]
	}
	k.Heard += uint64(len(told))
	turned := uint64(0)
	for i := range min(len(out), len(told)) {
		if told[i].level != out[i].level || told[i].at < out[i].from {
			turned++
		}
	}
	switch {
	case len(told) < len(out):
		k.Lost += uint64(len(out) - len(told))
	case len(told) > len(out):
		k.Extra += uint64(len(told) - len(out))
	case turned == 0:
		for i := range out {
			m.pair(out[i], told[i])
		}
		return
	default:
		k.Turned += turned
	}
	k.Spoilt++
	m.paired = false
}

// widest is the longest pulse whose width is looked at.
const widest = 25 * signal.Millisecond

// pair notes what lies between an edge and its stamp, and how wide the pulse before it
// came out.
func (m *matcher) pair(out putOut, told stamped) {
	m.kept.Stamps.Add(told.at - out.from)
	if m.paired && out.from-m.before.from <= widest {
		put := (out.from + out.to - m.before.from - m.before.to) / 2
		off := told.at - m.heard.at - put
		m.kept.Widths.Add(max(off, -off))
	}
	m.before, m.heard, m.paired = out, told, true
}
