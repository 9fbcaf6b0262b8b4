package assertions

import (
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
)

// What a motor's way from one command to another, as through a low-pass, tells of the turns that it takes.
const (
	wayLeast   = 8.0  // command steps, for a way to be looked at
	wayMiddle  = 0.8  // share of it, behind which it goes too slowly to move in every turn
	stepsMoved = 1.5  // command steps, by which a command is another; a dithered one goes to and fro by one
	pairsLeast = 40   // pairs of frames on such ways, to tell anything
	moreOften  = 1.25 // times as often as they would with a reading alone
)

// movesBetween says whether commands that are on their way, in the trials of any step, change more often from frame to
// frame than a loop of this period, s, has them: then its turns come sooner. It tells so of boards alone that smooth
// what they read or send, and whose frames come more often than that.
func (e *Evidence) movesBetween(period float64) bool {
	for _, w := range plant.Wheels {
		pairs, changed, spaced := 0.0, 0.0, 0.0
		for i := range e.Steps {
			all := e.changes(&e.Steps[i])
			for k := range all {
				e.onTheWay(w, &all[k], func(apart signal.Time, moved float64) {
					pairs, spaced = pairs+1, spaced+apart.Seconds()
					if moved > stepsMoved*e.CommandStep {
						changed++
					}
				})
			}
		}
		if pairs < pairsLeast {
			continue
		}
		expected := min(spaced/pairs/period, 1)
		certain := 3 * math.Sqrt(expected*(1-expected)/pairs)
		if changed/pairs > moreOften*expected+certain {
			return true
		}
	}
	return false
}

// onTheWay hands on each two frames that follow on each other while a motor is on its way after a change, by how much later the
// second began and how far it stands from the first.
func (e *Evidence) onTheWay(w plant.Wheel, c *change, pair func(apart signal.Time, moved float64)) {
	stood, frames := e.lastFrames(w, c.sent, 1), e.Trace.Motor[w].Between(c.sent+1, c.until)
	if len(stood) == 0 || len(frames) < 2 {
		return
	}
	from := stood[0].Value
	way := frames[len(frames)-1].Value - from
	if math.Abs(way) < wayLeast*e.CommandStep {
		return
	}
	for i := range frames[1:] {
		a, b := &frames[i], &frames[i+1]
		left := math.Abs(a.Value-from) > stepsMoved*e.CommandStep
		if done := (a.Value - from) / way; done > wayMiddle {
			return
		}
		if left {
			pair(b.Start-a.Start, math.Abs(b.Value-a.Value))
		}
	}
}
