package simulated

import (
	"fmt"

	"hilrig/rig/signal"
)

// answerStep is how far time goes on before responders are asked that say nothing
// else.
const answerStep = signal.Microsecond

// Responding is a responder with the lines whose edges it is given. Its answers
// have to be on driven lines, of which a port's must not be under way; they are
// played no earlier than the end of the step in which it was asked. Where it is a
// [signal.Timed], it is also called as time passes.
type Responding struct {
	Responder signal.Responder
	Lines     []signal.Line
	Latency   signal.Time // it answers no sooner: the bench's steps are that long; 0 means 1 us
}

// responders are the responders of a bench.
type responders struct {
	list    []Responding
	listens [][]bool // by responder and line
	step    signal.Time
	heard   []signal.Edge
	streams [][]signal.Edge
	answers []signal.Edge
}

func newResponders(list []Responding, layout signal.Layout) (responders, error) {
	r := responders{list: list, step: signal.Second}
	for i, one := range list {
		r.step = min(r.step, max(one.Latency, answerStep))
		listens := make([]bool, len(layout.Lines))
		for _, l := range one.Lines {
			if int(l) >= len(listens) {
				return r, fmt.Errorf("simulated bench: responder %d listens to line %d, which the layout does not have", i, l)
			}
			listens[l] = true
		}
		r.listens = append(r.listens, listens)
	}
	return r, nil
}

func (r *responders) none() bool { return len(r.list) == 0 }

// seen keeps the edges of one step, the rig's and the board's, in order of time.
func (r *responders) seen(in, out []signal.Edge) {
	if r.none() {
		return
	}
	r.streams = append(r.streams[:0], in, out)
	r.heard = signal.Merge(r.heard[:0], r.streams)
}

// answer asks the responders about the last step and queues their answers.
func (b *Bench) answer() error {
	r := &b.answers
	r.answers = r.answers[:0]
	for i, one := range r.list {
		for _, e := range r.heard {
			if r.listens[i][e.Line] {
				r.answers = one.Responder.Respond(e, r.answers)
			}
		}
		if timed, ok := one.Responder.(signal.Timed); ok {
			r.answers = timed.Until(b.now, r.answers)
		}
	}
	for _, e := range r.answers {
		if int(e.Line) >= len(b.planned) || b.layout.Lines[e.Line].Direction != signal.Drive || b.sending(e) {
			return fmt.Errorf("simulated bench: a responder answered on line %d at %v, which is no line that it may drive", e.Line, e.At)
		}
		if b.planned[e.Line] == e.Level {
			return fmt.Errorf("simulated bench: a responder's answer on %s at %v repeats the level that it has", b.layout.Lines[e.Line].Name, e.At)
		}
		b.planned[e.Line] = e.Level
		e.At = max(e.At, b.now)
		if b.output.perfect {
			b.queue.insert(e)
		} else { // responders stand at the wires, beyond the edge output
			b.output.queue.insert(e)
		}
	}
	return nil
}

// sending says whether an edge falls into bytes that were sent on its line's port.
func (b *Bench) sending(e signal.Edge) bool {
	port := b.portOf[e.Line]
	return port >= 0 && b.ports[port].busy > e.At
}
