package registers

import (
	"hilrig/rig"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// change is one edge, made ready to be written: one of set and clear is 0.
type change struct {
	at         signal.Time
	set, clear uint32
	apart      uint32 // ns that it has to come after the last change of its group
	group      uint8
}

// Of changes that a stall has made late, those of one group follow each other no
// closer than half as far as planned, so that a board's input filter still sees
// every one; and where they were planned far apart, no closer than mostApart.
const mostApart = 5 * signal.Microsecond

// Apart returns how far a change has to stay from one planned at before.
func Apart(before, at signal.Time) uint32 {
	return uint32(min((at-before)/2, mostApart))
}

// player puts out changes when their time has come. Each is one write: never do
// two lines change at once, and lines of one encoder never out of order. Its
// queues are in order of time each; a change that has to wait for its group holds
// up those behind it in its queue.
type player struct {
	queues  []*realtime.Ring[change]
	last    [32]signal.Time // when each group last changed
	late    realtime.Histogram
	logged  uint32 // lines of which overdue tells
	overdue overdue
	worst   signal.Time // since it was last asked for
}

// step puts out at most one change of each queue. Nothing here may be preempted:
// the loop calls it between two samples.
//
//go:nosplit
func (p *player) step(bank Bank, now signal.Time) {
	if p.overdue.open.Count > 0 && now > p.overdue.open.To+tellAfter {
		p.overdue.tell()
	}
	for _, q := range p.queues {
		head := q.Head.Load()
		if head == q.Full {
			if q.Full = q.Tail.Load(); head == q.Full {
				continue
			}
		}
		c := &q.Slot[head&q.Mask]
		last := &p.last[c.group&31]
		if c.at > now || now < *last+signal.Time(c.apart) {
			continue
		}
		if c.set != 0 {
			bank.Set(c.set)
		} else {
			bank.Clear(c.clear)
		}
		*last = now
		late := now - c.at
		p.late.Add(late)
		if late > p.worst {
			p.worst = late
		}
		if late > rig.LateFloor && (c.set|c.clear)&p.logged != 0 {
			p.overdue.add(c.at, now)
		}
		q.Head.Store(head + 1)
	}
}

// drop forgets what was still to be put out. The loop has to stand still.
func (p *player) drop() {
	for _, q := range p.queues {
		q.Full = q.Tail.Load()
		q.Head.Store(q.Full)
	}
}
