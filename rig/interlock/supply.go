package interlock

import (
	"fmt"

	"hilrig/rig/signal"
)

// Supply says how the motors' supply is seen behind what opens it.
//
// An open contact is believed once the supply was seen to go; that it stays is judged only
// while the motors rest, as motors that turn feed what stands before them: not before so long
// after the relay opened as it takes to fall, and after the motors were last to turn and ran
// down.
type Supply struct {
	Wired bool
	Falls signal.Time // from the relay's opening until it is off at the latest, the motors at rest; 0: [DefaultFalls]
	Coast signal.Time // from the last command above idle until the motors rest at the latest; 0: [DefaultCoast]
}

// The times of a supply where a bench says nothing else, and those of every bench.
const (
	DefaultFalls = 2 * signal.Second
	DefaultCoast = 10 * signal.Second
	// MostRising is how long the supply may stay away once the relay has closed: what charges
	// the controllers before the contactors close is seen at once.
	MostRising = 3 * signal.Second
	// MostAbsent is how long it may be away afterwards.
	MostAbsent = 100 * signal.Millisecond

	supplyFirm = 20 * signal.Millisecond // for which it is off to be believed
)

// supplyWatch is what was seen of the supply.
type supplyWatch struct {
	seen     bool
	on       bool
	since    signal.Time // it is so
	closed   bool        // the relay, as last seen
	moved    signal.Time // the relay, last
	came     bool        // on since the relay closed
	powered  bool        // has been on with the relay closed, ever
	turns    bool        // a motor was to turn, ever
	turning  signal.Time // the last time that it was
	open     bool        // the relay is open, and whether the supply goes is not seen yet
	fell     signal.Time // the longest time from the relay's opening until it was off; 0: never seen
	welded   bool
	unjudged bool
}

// Turning notes that a motor is commanded to turn, or seen to.
func (i *Interlock) Turning(now signal.Time) { i.supply.turns, i.supply.turning = true, now }

// SupplySeen notes whether the motors' supply is on. It is called every millisecond where that
// is wired, and does nothing for an interlock that is untested: a person says it there.
func (i *Interlock) SupplySeen(now signal.Time, on bool) {
	w := &i.supply
	if !i.settings.Supply.Wired || i.settings.Untested {
		return
	}
	if !w.seen || on != w.on {
		w.on, w.since = on, now
	}
	if closed := i.RelayClosed(); !w.seen || closed != w.closed {
		w.closed, w.moved, w.came, w.open = closed, now, false, !closed
		if w.turns && now-w.turning < MostAbsent {
			w.turning = now // what was commanded before goes on until the supply is gone
		}
	}
	w.seen = true
	if w.closed {
		i.supplyClosed(now)
	} else {
		i.supplyOpen(now)
	}
}

// supplyClosed judges the supply while the relay is closed.
func (i *Interlock) supplyClosed(now signal.Time) {
	w := &i.supply
	w.came = w.came || w.on
	w.powered = w.powered || w.on
	switch {
	case !w.came && now-w.moved > MostRising:
		i.trip(now, fmt.Sprintf("the motors' supply was not seen %d s after the relay closed; see to plug, fuse, contactors and the sense's wire", int64(MostRising/signal.Second)))
	case w.came && !w.on && now-w.since > MostAbsent:
		i.trip(now, "the motors' supply went away while the relay was closed")
	}
}

// supplyOpen judges it while the relay is open.
func (i *Interlock) supplyOpen(now signal.Time) {
	w := &i.supply
	switch {
	case w.welded:
	case !w.on && w.open && now-w.since >= supplyFirm:
		if w.open = false; w.powered {
			w.fell = max(w.fell, w.since-w.moved)
		}
	case w.on && !w.open: // it came back: somebody turns a motor by hand, or something passes the contacts by
		w.open, w.moved, w.turns, w.turning = true, now, true, now
	case w.on && now > i.supplyGone():
		w.open, w.welded = false, true
		i.weld(now)
	}
}

// supplyGone returns when the supply is off at the latest.
func (i *Interlock) supplyGone() signal.Time {
	w, s := &i.supply, i.settings.Supply
	rests := w.moved
	if w.turns {
		rests = max(rests, w.turning+orElse(s.Coast, DefaultCoast))
	}
	return rests + orElse(s.Falls, DefaultFalls)
}

func orElse(t, otherwise signal.Time) signal.Time {
	if t > 0 {
		return t
	}
	return otherwise
}

// weld trips for a supply that does not go. Where it has tripped already that is said besides.
func (i *Interlock) weld(now signal.Time) {
	why := "contact welded: the motors' supply is still on, the relay open and the motors at rest; pull the plug in the pack's lead"
	if i.settings.Power == SignalsOnly && !i.supply.powered {
		why = "the motors' supply is on, and motors_powered is signals_only; pull its lead"
	}
	if i.state == Tripped && i.why != "" {
		i.why += "; " + why
		return
	}
	i.trip(now, why)
}

// supplyDenies says why it may not go live with the supply as it is seen; empty where it may.
func (i *Interlock) supplyDenies() string {
	if w := &i.supply; i.settings.Supply.Wired && w.seen && w.on && !w.closed {
		return "the motors' supply is on while the relay is open; where the motors rest and it stays, pull the plug in the pack's lead and look for a welded contact, or for what passes the contacts by"
	}
	return ""
}

// Watching says whether the relay is open and it was not seen yet that the supply goes: whoever
// keeps the interlock looks on until it was, or until it trips.
func (i *Interlock) Watching() bool { return i.supply.open }

// Unwatched notes that nobody looks on.
func (i *Interlock) Unwatched() {
	i.supply.unjudged = i.supply.unjudged || i.Watching()
	i.supply.open = false
}

// Welded says whether the supply stayed on with the relay open and the motors at rest; unjudged,
// that nobody waited to see it.
func (i *Interlock) Welded() (welded, unjudged bool) { return i.supply.welded, i.supply.unjudged }

// Fell returns the longest time that the supply took to go once the relay had opened, 0 where
// it was never seen to.
func (i *Interlock) Fell() signal.Time { return i.supply.fell }
