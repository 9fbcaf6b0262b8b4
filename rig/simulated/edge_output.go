package simulated

import (
	"errors"
	"fmt"

	"hilrig/rig/signal"
)

// EdgeOutput is how the bench plays driven lines. The zero value plays every edge,
// and begins every message, exactly when it is due. In a stall nothing is begun:
// edges that were due follow right after it, in their order and catchUp apart, and
// so do those that they hold up. A message that was due begins as the stall ends; a
// port sends by itself, so that what was begun before goes on.
type EdgeOutput struct {
	Stalls Stalls
}

// catchUp is how far apart late edges are played.
const catchUp = 500 * signal.Nanosecond

// edgeOutput is the state of the edge output.
type edgeOutput struct {
	stalls   stallList
	perfect  bool
	earliest signal.Time // no edge may be played before
	queue    queue       // edges at the times at which they will be played
}

func newEdgeOutput(p EdgeOutput) (edgeOutput, error) {
	if err := p.Stalls.check(); err != nil {
		return edgeOutput{}, err
	}
	return edgeOutput{stalls: stallList{Stalls: p.Stalls}, perfect: p.Stalls.Mean == 0}, nil
}

// played queues edges as they are due and returns those that go out until t.
// They are valid until the next call.
func (p *edgeOutput) played(due []signal.Edge, t signal.Time) []signal.Edge {
	if p.perfect {
		return due
	}
	for _, e := range due {
		at := p.stalls.end(max(e.At, p.earliest))
		p.earliest = at
		if at > e.At {
			p.earliest += catchUp
		}
		e.At = at
		p.queue.insert(e)
	}
	p.stalls.forget(t)
	return p.queue.due(t)
}

// begin returns when a message begins that is due at t.
func (p *edgeOutput) begin(t signal.Time) signal.Time {
	if p.perfect {
		return t
	}
	return p.stalls.end(t)
}

// check says what is wrong with stalls.
func (s *Stalls) check() error {
	switch {
	case s.Mean < 0 || s.Least < 0 || s.Most < s.Least || s.Most > signal.Second:
		return fmt.Errorf("simulated bench: stalls of %v to %v every %v; 0 <= least <= most <= 1 s and a mean from 0 are possible", s.Least, s.Most, s.Mean)
	case s.Mean > 0 && s.Draw == nil:
		return errors.New("simulated bench: stalls need a Draw")
	}
	return nil
}

// draw returns a time spread evenly over least to most.
func (s *Stalls) draw(least, most signal.Time) signal.Time {
	return least + signal.Time(s.Draw()%uint64(most-least+1))
}

// stallList holds stalls from the present on, as far as they were asked for, so
// that they do not depend on the order of the questions.
type stallList struct {
	Stalls
	list  []stall
	until signal.Time // end of the last
}

// stall is a time [from, to) in which nothing is done.
type stall struct{ from, to signal.Time }

// end returns t, or the end of the stall that it lies in.
func (s *stallList) end(t signal.Time) signal.Time {
	for s.until <= t {
		from := s.until + s.draw(0, 2*s.Mean)
		s.until = from + s.draw(s.Least, s.Most) + 1
		s.list = append(s.list, stall{from, s.until - 1})
	}
	for _, one := range s.list {
		if t >= one.from && t < one.to {
			return one.to
		}
	}
	return t
}

// forget drops the stalls that are over at t.
func (s *stallList) forget(t signal.Time) {
	n := 0
	for n < len(s.list) && s.list[n].to < t {
		n++
	}
	s.list = append(s.list[:0], s.list[n:]...)
}
