package file

import (
	"cmp"
	"fmt"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// restPlaces are where a bench file says what the board meets after power-up.
type restPlaces struct {
	ready language.Place // of ready_after, or of what stands above it
	yaw   language.Place // of the yaw rate between cases; the zero value where none is written
}

// restPlaces finds them.
func (r *reader) restPlaces(v *language.Mapping) restPlaces {
	board := v.Sub("board")
	var p restPlaces
	for _, n := range []*language.Node{board.NodeAt("ready_after"), v.NodeAt("board"), v.NodeAt("bench")} {
		if n != nil {
			p.ready = r.PlaceOf(n)
			break
		}
	}
	if n := board.Sub("between_cases").NodeAt("yaw_rate"); n != nil {
		p.yaw = r.PlaceOf(n)
	}
	return p
}

// booting is how long a board is given, beside the rest that its policy declares, to come up before it:
// common practice, no source.
const booting = signal.Second

// LintRest returns what of a bench keeps the board from standing at rest after power-up for as long
// as the car's policy says that it has to: it would be silent or idle in every case, whatever
// the suites play.
func LintRest(b *Bench, c *Car) (all language.Warnings) {
	if c.Policy.StartAtRest == nil {
		return nil
	}
	rest := *c.Policy.StartAtRest
	asked := fmt.Sprintf("the policy in %s has the board stand at rest for %s (start_at_rest)", c.Source.Path, span(rest))
	tell := func(at language.Place, value, message, remedy string) {
		all = append(all, b.Source.Shown(language.Problem{Place: at, Value: value, Level: language.Warning, Message: message, Remedy: remedy}))
	}
	if ready := b.Board.ReadyAfter; ready < byItsClock(rest) {
		tell(b.rest.ready, span(ready), fmt.Sprintf("after power-up the board is at rest for %s (ready_after), and %s", span(ready), asked),
			fmt.Sprintf("write ready_after: %s, by which it has come up too", span(rest+booting)))
	}
	if yaw := b.Board.BetweenCases.YawRate; yaw != 0 {
		written := language.AngularRate.Format(yaw)
		tell(cmp.Or(b.rest.yaw, b.rest.ready), written, fmt.Sprintf("after power-up and between cases the yaw rate is %s, and %s", written, asked), "write yaw_rate: 0 deg/s, or leave it out")
	}
	return all
}

// byItsClock is how long a board may take for a span of time that it counts by a clock of its own.
func byItsClock(t signal.Time) signal.Time { return t + t/10 }
