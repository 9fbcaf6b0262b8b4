package preflight

import (
	"fmt"
	"math"
	"strings"

	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Sight is what a person saw of one motor.
type Sight uint8

// The sights.
const (
	Forward  Sight = iota + 1 // it turned as when the car drives ahead
	Backward                  // the other way round
	Motionless
	Another // another one turned in its place
)

// Spotter is whoever looks at one wheel after the other while the motors turn.
type Spotter interface {
	// Go asks for one wheel to be looked at, and returns once it may turn.
	Go(w plant.Wheel) error
	// Saw asks what was seen of it, and returns with the answer.
	Saw(w plant.Wheel) (Sight, error)
}

// gentlest is the most throttle, share of range, for motors that nobody has seen turn yet:
// enough for a motor without a load to start, and slow enough to tell which way (common
// practice, no source).
const gentlest = 0.10

// FirstLimit is the share of full command beyond which a powered motor loses its supply
// where nothing else is said, and while it turns for the first time at the latest (common
// practice, no source).
const FirstLimit = 0.25

// FirstTurn returns throttle and limit of the first turn, both shares of range, on a
// bench whose motors lose their supply beyond limit; 0: it does not say. The throttle is
// at most half of the limit.
func FirstTurn(limit float64) (throttle, most float64) {
	if limit <= 0 {
		limit = FirstLimit
	}
	most = min(limit, FirstLimit)
	return min(gentlest, most/2), most
}

// TryRotation has a person look at one wheel after the other while turn has the motors
// turn a little. Turn tells what was commanded. Each result is reported as it comes; it ends
// where the commands are wrong or nobody answers, and goes on past a wheel that turned
// the wrong way, so that all leads can be swapped at once. It says whether all four were
// seen to turn forward.
func TryRotation(who Spotter, turn func(w plant.Wheel) Result, tell func(Result)) bool {
	all := true
	for _, w := range plant.Wheels {
		if err := who.Go(w); err != nil {
			tell(Result{Check: w.String(), Grade: NotTried, Says: err.Error()})
			return false
		}
		f := turn(w)
		tell(f)
		if f.Grade > Warning {
			return false
		}
		saw, err := who.Saw(w)
		if err != nil {
			tell(Result{Check: w.String(), Grade: NotTried, Says: err.Error()})
			return false
		}
		f = sighted(w, saw)
		tell(f)
		all = all && f.Grade == Well
	}
	return all
}

// seenAs is what each sight of a wheel means. The remedies are common practice, no source.
var seenAs = map[Sight]Result{
	Forward:    {Says: "turns forward"},
	Backward:   {Grade: Wrong, Says: "turns backward", Remedy: "swap any two of a brushless motor's three leads, or both of a brushed one's; or turn the direction round in the speed controller's settings or the firmware's"},
	Motionless: {Grade: Wrong, Says: "does not turn", Remedy: "see to its leads and plugs, that its speed controller gets its supply and was taught the idle and full of the bench file, and that it starts at so small a command"},
	Another:    {Grade: Wrong, Says: "another turns in its place", Remedy: "lead each motor output to the speed controller of its own wheel, or turn them round in the firmware's table of outputs"},
}

// sighted judges what was seen of a wheel.
func sighted(w plant.Wheel, saw Sight) Result {
	r, known := seenAs[saw]
	if !known {
		r = seenAs[Another]
	}
	if r.Check = w.String(); r.Grade != Well {
		r.Remedy = "take the supply away by hand, then " + r.Remedy
	}
	return r
}

// alike is how far a command may be from the throttle, share of range: what a pulse is
// uncertain by on a pin, and what outputs of one board differ by.
const alike = nearIdle

// Gentle judges what came on the motor lines while throttle, a share of range, was played
// once, standing and steering straight: held from from to to, and again at idle from idle
// on, times of the bench. All four have to follow it, alike, and none may ever go further.
// What is no further off than slack, by which the rig's own lateness may have moved the
// throttle on its wire, is a warning. It also returns the mean of what each was commanded
// meanwhile, share of range.
func Gentle(tr *trace.Trace, motors [4]decode.Motor, throttle, slack float64, from, to, idle signal.Time) (found Result, mean [4]float64) {
	var said []string
	for _, w := range plant.Wheels {
		near := alike + motors[w].CommandStep()
		g := look(near, &tr.Motor[w], throttle, from, to, idle)
		f := g.judged("motor_"+w.String(), throttle)
		if f.Grade == Wrong && g.frames > 0 {
			if wide := look(near+slack, &tr.Motor[w], throttle, from, to, idle); wide.judged("", throttle).Grade == Well {
				f.Grade, f.Remedy = Warning, "the rig was late itself, which a board takes for throttle: look at hilrig timing"
			}
		}
		if f.Grade == Wrong && slack > near {
			f.Remedy += "; the rig was late itself, look at hilrig timing first"
		}
		if found.Check == "" || f.Grade > found.Grade {
			found = f
		}
		mean[w] = g.mean
		said = append(said, ofRange(g.mean))
	}
	if found.Grade == Well {
		found.Says = fmt.Sprintf("%s of their range at %s throttle, and back to idle", strings.Join(said, ", "), ofRange(throttle))
	}
	return found, mean
}

// ofRange writes a command.
func ofRange(share float64) string { return fmt.Sprintf("%.1f %%", 100*share) }

// judged says what is wrong with it.
func (g *gentle) judged(name string, throttle float64) Result {
	const check = "commands"
	switch {
	case g.beyond:
		return Result{check, Wrong, fmt.Sprintf("%s went to %s of its range at %s throttle", name, ofRange(g.furthest), ofRange(throttle)), "see that the bench file has the board's idle and full for throttle and motors, and that the firmware adds nothing to the throttle while the car stands"}
	case (g.frames < 2 || g.after == 0) && g.unread > 0:
		return Result{check, Wrong, fmt.Sprintf("%d pulses of %s are too uncertain to be read", g.unread, name), "look at hilrig timing"}
	case g.frames < 2 || g.after == 0:
		return Result{check, Wrong, name + " fell silent", "see to its wire, and to the board's own supply while the motors draw current"}
	case g.mean < throttle/2:
		return Result{check, Wrong, fmt.Sprintf("%s is at %s of its range at %s throttle", name, ofRange(g.mean), ofRange(throttle)), "see how the board is armed (board: arm: in the bench file), that a small throttle is no dead band of the firmware, and which way its commands go ahead"}
	case g.mean < throttle-g.near:
		return Result{check, Wrong, fmt.Sprintf("%s is at %s of its range at %s throttle, and all four have to follow it alike while the car stands", name, ofRange(g.mean), ofRange(throttle)), "see what the firmware shifts or holds back at standstill, with the gain trim at 0"}
	case g.turning:
		return Result{check, Wrong, name + " does not go back to idle with the throttle", "see what the firmware does as the throttle closes"}
	}
	return Result{Check: check}
}

// gentle is what one motor was commanded during a turn.
type gentle struct {
	near     float64 // share of range that makes no difference
	furthest float64
	beyond   bool // certainly further than the throttle
	frames   int  // while the throttle was held
	mean     float64
	after    int  // frames from when it has to be at idle again
	turning  bool // one of them certainly is not
	unread   int  // frames since the throttle was held that the sampler left open
}

func look(near float64, o *trace.Output, throttle float64, from, to, idle signal.Time) gentle {
	g := gentle{near: near}
	sum := 0.0
	for _, f := range o.Frames {
		size := math.Abs(f.Value) - f.Uncertainty
		if size > math.Abs(g.furthest) {
			g.furthest = f.Value
		}
		g.beyond = g.beyond || size > throttle+g.near
		switch {
		case f.Start >= from && f.End <= to:
			g.frames++
			sum += f.Value
		case f.Start >= idle:
			g.after++
			g.turning = g.turning || size > g.near
		}
	}
	for _, e := range o.Events {
		switch { // a frame that tells the motor to stand still is a command of 0
		case e.Kind == trace.Uncertain && e.At >= from:
			g.unread++
		case e.Kind != trace.Stop:
		case e.At >= from && e.At <= to:
			g.frames++
		case e.At >= idle:
			g.after++
		}
	}
	if g.frames > 0 {
		g.mean = sum / float64(g.frames)
	}
	return g
}
