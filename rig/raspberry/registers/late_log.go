package registers

import (
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// lateLog is the edge output's log of edges that it played late: stretches, not edges, as
// after a stall there are hundreds.
type lateLog struct {
	open     signal.LateStretch // Count 0: none
	reported *realtime.Ring[signal.LateStretch]
}

// add notes an edge that was due and was played now.
//
//go:nosplit
func (o *lateLog) add(due, now signal.Time) {
	if due > o.open.To {
		o.tell()
	}
	if o.open.Count == 0 {
		o.open.From = due
	}
	if due < o.open.From {
		o.open.From = due
	}
	if late := now - due; late > o.open.Worst {
		o.open.Worst = late
	}
	o.open.To = now
	o.open.Count++
}

// tell hands the open stretch over. Where there is no room it stays open, and takes in
// what comes.
//
//go:nosplit
func (o *lateLog) tell() {
	if o.open.Count == 0 || !o.reported.Room(1) {
		return
	}
	tail := o.reported.Tail.Load()
	o.reported.Slot[tail&o.reported.Mask] = o.open
	o.reported.Tail.Store(tail + 1)
	o.open = signal.LateStretch{}
}
