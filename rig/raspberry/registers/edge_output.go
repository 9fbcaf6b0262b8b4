package registers

import (
	"hilrig/rig"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// edgeOutput puts out changes when their time has come. Each is one write: never do
// two lines change at once, and lines of one encoder never out of order. Its
// queues are in order of time each; a change that has to wait for its group holds
// up those behind it in its queue. How far late ones stay apart [hostlines.Change] says.
type edgeOutput struct {
	queues  []*hostlines.Queue
	last    [256]signal.Time // when each group last changed
	late    realtime.Histogram
	logged  uint32 // lines of which lateLog tells
	lateLog lateLog
	worst   signal.Time // since it was last asked for
}

// step puts out at most one change of each queue. Nothing here may be preempted:
// the loop calls it between two samples.
//
//go:nosplit
func (p *edgeOutput) step(bank PinBank, now signal.Time) {
	if p.lateLog.open.Count > 0 && now > p.lateLog.open.To+reportAfter {
		p.lateLog.tell()
	}
	for _, q := range p.queues {
		head := q.Head.Load()
		if head == q.Full {
			if q.Full = q.Tail.Load(); head == q.Full {
				continue
			}
		}
		c := &q.Slot[head&q.Mask]
		last := &p.last[c.Group]
		if c.At > now || now < *last+signal.Time(c.Apart) {
			continue
		}
		line := uint32(c.Mask)
		if c.Level {
			bank.Set(line)
		} else {
			bank.Clear(line)
		}
		*last = now
		late := now - c.At
		p.late.Add(late)
		if late > p.worst {
			p.worst = late
		}
		if late > rig.LateFloor && line&p.logged != 0 {
			p.lateLog.add(c.At, now)
		}
		q.Head.Store(head + 1)
	}
}
