package assertions

import (
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// What a motor's way from one command to another, as through a low-pass, tells of the turns that it takes.
const (
	wayLeast   = 8.0  // command steps, for a way to be looked at
	wayMiddle  = 0.8  // share of it, behind which it goes too slowly to move in every turn
	stepsMoved = 1.5  // command steps, by which a command is another; a dithered one goes to and fro by one
	pairsLeast = 40   // pairs of frames on such ways, to tell anything
	moreOften  = 1.25 // times as often as they would with a reading alone
	stepsSame  = 0.5  // command steps, up to which a command is the same
	standsRoom = 0.1  // share of the pairs, by which more have to change with twice the turns, for the two to be told apart
	seenLeast  = 3    // frames, for a command to be one that the board sends
)

// movesBetween says whether commands that are on their way, in the trials of any step, change more often from frame to
// frame than a loop of this period, s, has them: then its turns come sooner. It tells so of boards alone that smooth
// what they read or send, or whose shift grows with time, and whose frames come more often than that.
func (e *Evidence) movesBetween(period float64) bool {
	b := e.between(period)
	return b.moves()
}

// waysBetween is what commands do on their way between turns of a period, motor by motor.
type waysBetween struct {
	period float64 // s
	step   float64 // of commands
	motors [4]onWay
}

// onWay are pairs of a motor's frames that follow on each other while it is on its way.
type onWay struct {
	pairs, changed float64
	another        float64     // of them such as changed by more than a dithered one does
	spaced         float64     // s, all together
	went           float64     // shares of range, all together
	seen           map[int]int // how many frames carried a command of so many command steps
}

// between looks at what commands do on their way, in the trials of any step.
func (e *Evidence) between(period float64) (b waysBetween) {
	b.period, b.step = period, e.CommandStep
	for i, w := range plant.Wheels {
		x := &b.motors[i]
		x.seen = map[int]int{}
		for k := range e.Steps {
			all := e.changes(&e.Steps[k])
			for n := range all {
				e.onTheWay(w, &all[n], func(first, second *trace.Frame, side float64) {
					moved := second.Value - first.Value
					x.seen[int(math.Round(second.Value/b.step))]++
					x.pairs, x.spaced, x.went = x.pairs+1, x.spaced+(second.Start-first.Start).Seconds(), x.went+float64(side*moved)
					if math.Abs(moved) > stepsMoved*b.step {
						x.another++
					}
					if math.Abs(moved) > stepsSame*b.step+first.Uncertainty+second.Uncertainty {
						x.changed++
					}
				})
			}
		}
	}
	return b
}

// moves says whether some motor's commands change more often than turns of the period have them.
func (b *waysBetween) moves() bool {
	return slices.ContainsFunc(b.motors[:], func(x onWay) bool {
		if x.pairs < pairsLeast {
			return false
		}
		expected := min(x.spaced/x.pairs/b.period, 1)
		return x.another/x.pairs > moreOften*expected+chance(expected, x.pairs)
	})
}

// stands says whether some motor's commands are seen to stand still between turns of the period, where they would be seen to
// change if turns came twice as often: they go on by so much from turn to turn, and frames come so often.
func (b *waysBetween) stands() bool {
	return slices.ContainsFunc(b.motors[:], func(x onWay) bool {
		if x.pairs < pairsLeast {
			return false
		}
		frame, growth, step := x.spaced/x.pairs, x.went/x.spaced, x.usualStep(b.step)
		share := func(period float64) float64 { return min(frame*min(1/period, growth/step), 1) }
		slow, quick := share(b.period), share(b.period/2)
		middle := (slow + quick) / 2
		return quick-slow > standsRoom && x.changed/x.pairs+chance(middle, x.pairs) < middle
	})
}

// usualStep returns in what steps a motor's commands go, those of its wire or coarser ones of the board's own, by how far the
// commands that were seen lie apart: coarse steps leave the same between all of them, commands that are not all seen leave more
// here and less there.
func (x *onWay) usualStep(wire float64) float64 {
	var at []int
	for cell, frames := range x.seen {
		if frames >= seenLeast {
			at = append(at, cell)
		}
	}
	if len(at) < 2 {
		return math.Inf(1)
	}
	slices.Sort(at)
	apart := make([]float64, len(at)-1)
	for i := range apart {
		apart[i] = float64(at[i+1] - at[i])
	}
	slices.Sort(apart)
	mean := float64(at[len(apart)]-at[0]) / float64(len(apart))
	return wire * max(measure.Quantile(apart, 0.25), min(mean, 2))
}

// chance is by how much a share of so many pairs may be off.
func chance(share, pairs float64) float64 { return 3 * math.Sqrt(share*(1-share)/pairs) }

// onTheWay hands on each two frames that follow on each other while a motor is on its way after a change, and to which side
// that leads.
func (e *Evidence) onTheWay(w plant.Wheel, c *change, pair func(first, second *trace.Frame, side float64)) {
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
			pair(a, b, math.Copysign(1, way))
		}
	}
}
