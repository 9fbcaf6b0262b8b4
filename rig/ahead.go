package rig

import "hilrig/rig/trace"

// mostBehind is how many ticks the loop may be behind a bench's time and still hand
// over edges of the past, which the bench plays at once and counts as late.
const mostBehind = 5

// skipAhead goes to the first tick that is still to come, where the next is of the
// past: wheels have stood still meanwhile, and what was to be sent is left out.
// Virtual time waits for the loop, so that there is nothing to skip.
func (r *Rig) skipAhead() {
	now := r.bench.Now()
	if r.next <= now {
		r.next = (now/r.tick + 1) * r.tick
		r.skipFrames()
	}
}

// skipFrames leaves out the frames that would begin before the next tick; those that are
// sent on request have no grid.
func (r *Rig) skipFrames() {
	for i := range r.message {
		r.message[i].encoder.Skip(r.next)
	}
}

// leaveOut says whether the tick that begins at r.next lies so far in the past that
// nothing of it is handed over any more, and notes that in tr. It goes on until the
// loop has come to the present.
func (r *Rig) leaveOut(tr *trace.Trace) bool {
	now := r.bench.Now()
	switch {
	case now < r.next:
		r.behind = false
	case now-r.next > mostBehind*r.tick:
		r.behind = true
	}
	if r.behind {
		r.back.late(r.next, now, tr)
	}
	return r.behind
}
