package simulated

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"hilrig/rig/signal"
)

// Sampler is how the bench reads all lines, the driven ones included. The zero
// value sees every edge at its true time. Otherwise the lines are looked at once in a
// period, and a pulse that begins and ends between two samples is not seen.
//
// What is stated is what a sampler in real time can state. It knows when a read ended, not when
// within it the level was taken: a change that it sees lies after the beginning of the read before,
// which came after the end of the one before that. So an edge is stamped with the next
// sample's time, and its Uncertainty reaches back over two turns. After a stall each line
// whose level is as before gives a gap (see signal.Edge), for two samples.
type Sampler struct {
	Period signal.Time // from sample to sample; 0 is a perfect one
	Stalls Stalls
}

// Stalls are gaps between samples that come at random.
type Stalls struct {
	Mean        signal.Time   // mean time from stall to stall, spread evenly over 0 to twice that; 0 means no stalls
	Least, Most signal.Time   // length of a stall, spread evenly, on top of the period
	Draw        func() uint64 // evenly spread 64 bits; the source of chance
}

// sampler is the sampler's state.
type sampler struct {
	Sampler
	began      signal.Time // the sample before the last
	before, at signal.Time // the last sample, and the next
	stallAt    signal.Time // the first sample at or after it is late
	line       []bool      // level of each line
	sampled    []bool      // as of the last sample
	touched    []signal.Line
	lines      []signal.Line // those that the rig reads
}

// newSampler returns a sampler that takes its first sample at time 0.
func newSampler(s Sampler, layout signal.Layout) (sampler, error) {
	st := s.Stalls
	if err := st.check(); err != nil {
		return sampler{}, err
	}
	switch {
	case s.Period < 0 || s.Period > signal.Second:
		return sampler{}, fmt.Errorf("simulated bench: sampler's period is %v; it has to lie from 0 to 1 s", s.Period)
	case st.Mean > 0 && s.Period == 0:
		return sampler{}, errors.New("simulated bench: stalls of the sampler need a sampler with a period")
	}
	m := sampler{Sampler: s, stallAt: math.MaxInt64}
	for i, l := range layout.Lines {
		m.line = append(m.line, l.Idle)
		m.sampled = append(m.sampled, l.Idle)
		if l.Direction == signal.Capture {
			m.lines = append(m.lines, signal.Line(i))
		}
	}
	m.touched = make([]signal.Line, 0, len(layout.Lines))
	m.began, m.before = -2*s.Period, -s.Period
	if st.Mean > 0 {
		m.stallAt = st.draw(0, 2*st.Mean)
	}
	return m, nil
}

// readAll makes it tell of gaps on every line.
func (m *sampler) readAll() {
	m.lines = m.lines[:0]
	for i := range m.line {
		m.lines = append(m.lines, signal.Line(i))
	}
}

// sample appends to dst what the sampler makes of edges, and of
// earlier ones, until now.
func (m *sampler) sample(dst, edges []signal.Edge, now signal.Time) []signal.Edge {
	for _, e := range edges {
		dst = m.advance(dst, e.At-1)
		if m.line[e.Line] == e.Level {
			continue // no change of level, no edge
		}
		m.line[e.Line] = e.Level
		if m.Period == 0 {
			dst = append(dst, e)
			continue
		}
		m.touch(e.Line)
	}
	return m.advance(dst, now)
}

// touch notes that a line may have changed since the last sample.
func (m *sampler) touch(line signal.Line) {
	if slices.Contains(m.touched, line) {
		return
	}
	m.touched = append(m.touched, line)
}

// advance takes the samples up to and including t.
func (m *sampler) advance(dst []signal.Edge, t signal.Time) []signal.Edge {
	if m.Period == 0 {
		return dst
	}
	for m.at <= t {
		late := uint32(min(m.at-m.began, math.MaxUint32))
		for _, l := range m.touched {
			if m.line[l] != m.sampled[l] {
				m.sampled[l] = m.line[l]
				dst = append(dst, signal.Edge{At: m.at, Uncertainty: late, Line: l, Level: m.line[l]})
			}
		}
		if m.at-m.began > 2*m.Period {
			dst = m.gaps(dst, late)
		}
		m.touched = m.touched[:0]
		m.step(t)
	}
	return dst
}

// gaps appends a gap for each line that has not just had an edge.
func (m *sampler) gaps(dst []signal.Edge, late uint32) []signal.Edge {
	first := len(dst)
	for first > 0 && dst[first-1].At == m.at {
		first--
	}
	edges := dst[first:]
	for _, l := range m.lines {
		if !slices.ContainsFunc(edges, func(e signal.Edge) bool { return e.Line == l }) {
			dst = append(dst, signal.Edge{At: m.at, Uncertainty: late, Line: l, Level: m.sampled[l]})
		}
	}
	return dst
}

// step moves on to the next sample, or, as nothing changes up to t, at once to
// the last one that is not after it.
func (m *sampler) step(t signal.Time) {
	m.began, m.before = m.before, m.at
	m.at += m.Period
	if m.at >= m.stallAt {
		m.at += m.Stalls.draw(m.Stalls.Least, m.Stalls.Most)
		m.stallAt = m.at + m.Stalls.draw(0, 2*m.Stalls.Mean)
		return
	}
	if m.before-m.began > m.Period {
		return // the next sample tells of the stall once more
	}
	if skip := (min(t, m.stallAt-1) - m.at) / m.Period; skip > 0 {
		m.at += skip * m.Period
		m.began, m.before = m.at-2*m.Period, m.at-m.Period
	}
}
