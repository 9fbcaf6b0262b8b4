package rig

import (
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// ahead is how far the loop has run ahead of the bench.
type ahead struct {
	most  int // ticks that may be handed over before time passes; below 2: the loop does not run ahead
	ticks int // were handed over and have not passed; what came back was taken before the first of them
}

// mostAhead returns by how many ticks the loop may run ahead of its bench. In requests and in what a bench
// sees of its own lines each tick counts.
func (r *Rig) mostAhead(s *Settings) int {
	if !r.bench.Exact() || len(s.Repliers) > 0 || r.seen != nil {
		return 0
	}
	for i := range r.message {
		for _, c := range r.message[i].channels {
			if c >= trace.MotorFrontLeft && c <= trace.MotorRearRight {
				return 0 // a sensor tells what came back
			}
		}
	}
	return int(s.Ahead / r.tick)
}

// take takes what came back by the beginning of the tick before the next, unless the loop runs ahead: then it is
// taken later, and the tick goes without, for in open loop nothing that is played depends on it.
func (r *Rig) take(tr *trace.Trace, closed bool) error {
	if r.ahead.ticks > 0 && (closed || r.ahead.ticks >= r.ahead.most || !r.faults.portsAreCalm(r.next)) {
		if err := r.catchUp(tr); err != nil {
			return err
		}
	}
	if r.ahead.ticks > 0 {
		return nil
	}
	return r.capture(tr)
}

// pass lets the tick's time pass, at once or later, and goes on to the next tick. A trace is
// folded at the same ticks either way.
func (r *Rig) pass(tr *trace.Trace, closed bool) error {
	r.next += r.tick
	if r.ahead.most < 2 || closed || !r.faults.portsAreCalm(r.next-r.tick) {
		return r.bench.Wait(r.next - r.tick)
	}
	r.ahead.ticks++
	if tr.FoldsNow() {
		return r.catchUp(tr)
	}
	return nil
}

// catchUp lets the time of all ticks pass by which the loop ran ahead, takes what came back for each of
// them but the first, and corrects the commands in their rows. What came in the last of them stays for the next capture.
func (r *Rig) catchUp(tr *trace.Trace) error {
	ticks := r.ahead.ticks
	if ticks == 0 {
		return nil
	}
	r.ahead.ticks = 0
	last := r.next - r.tick // the beginning of the last of them
	if err := r.bench.Wait(last); err != nil {
		return err
	}
	var err error
	if r.taken, err = r.bench.Captured(r.taken); err != nil {
		return err
	}
	rest := r.taken
	for back := ticks - 2; back >= 0; back-- {
		now := last - signal.Time(back+1)*r.tick
		n := 0
		for n < len(rest) && rest[n].At <= now {
			n++
		}
		r.decode(rest[:n], now, tr)
		rest = rest[n:]
		row := len(tr.Column[0]) - 1 - back
		for m, c := range r.command {
			tr.Column[int(trace.MotorFrontLeft)+m][row] = c
		}
	}
	r.taken = r.taken[:copy(r.taken, rest)]
	return nil
}
