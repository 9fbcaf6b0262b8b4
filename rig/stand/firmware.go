package stand

import (
	"math"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// silence is how long the controller goes on with its last command.
const silence = 100 * signal.Millisecond

// idleBelow is what the controller takes as idle where its throttle map has no start.
const idleBelow = 0.005

// firmware is the controller: what it makes of commands, and how warm it is.
type firmware struct {
	esc      *ESC
	receiver receiver
	way      throttleMap
	next     signal.Time // of its loop

	idleFrom signal.Time // since when it has been given idle, without a break
	idling   bool
	armed    bool
	ready    bool    // idle has come since commands did last
	duty     float64 // of the bridge, -1..1; 0: off
	keep     float64 // of the difference that is left after one loop
	heat     float64 // K above the air
}

func newFirmware(esc *ESC, t Throttle, at signal.Time) firmware {
	f := firmware{esc: esc, receiver: newReceiver(t, at), way: throttleMap{esc: esc, ahead: 1}, next: at}
	if esc.Lag > 0 {
		f.keep = portable.Exp(-float64(esc.Loop) / float64(esc.Lag))
	}
	return f
}

// loop is one turn of the controller's loop.
func (f *firmware) loop(at signal.Time) {
	f.next += f.esc.Loop
	f.receiver.look(at)
	f.listen(at)
	wanted := 0.0
	if f.armed && f.ready {
		wanted = f.way.follow(f.receiver.command) * (1 - float64(f.esc.Fade*f.heat))
	}
	if wanted == 0 { // the bridge is switched off at once
		f.duty = 0
		return
	}
	f.duty = wanted + float64((f.duty-wanted)*f.keep)
	if math.Abs(f.duty-wanted) < 1e-7 {
		f.duty = wanted
	}
}

// listen arms after idle for a time, and stops where no command comes: until idle comes again.
func (f *firmware) listen(at signal.Time) {
	r := &f.receiver
	if at-r.at > silence {
		f.ready, f.idling = false, false
		f.way = throttleMap{esc: f.esc, ahead: 1}
		return
	}
	if r.fresh {
		r.fresh = false
		idle := math.Abs(r.command) < max(f.esc.Start, idleBelow)
		if idle && !f.idling {
			f.idleFrom = r.at
		}
		f.idling = idle
		f.ready = f.ready || idle
	}
	f.armed = f.armed || f.idling && at-f.idleFrom >= f.esc.ArmAfter
}

// warm takes one step's losses.
func (f *firmware) warm(current float64) {
	const h = float64(step) / 1e9
	power := f.esc.Standby + float64(f.esc.Resistance*float64(current*current))
	f.heat += float64(h*(power-f.heat/f.esc.ThermalPath)) / f.esc.ThermalMass
}
