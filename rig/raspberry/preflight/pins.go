package preflight

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
)

// lineSettles is how long a line has to come to its level: a thousand times what a pin
// with a wire takes, and more than an optical isolator does.
const lineSettles = 100 * time.Microsecond

// TryPins makes every driven line an output at its safe level and reads it back. A
// line that means nothing to a motor, those of the wheel sensors, is then made the
// other level and safe again, and no other may move with it. One that means go stays
// safe: the receiver's, a stand's throttle command, relay and heartbeat. Lines of a serial port on the chip are
// left to the port. A wire that is broken is not seen: see [Loopback].
//
// The lines stay outputs at their safe level.
func TryPins(lines hostlines.Lines, w *pinout.Wires) []Result {
	t := linesTest{lines: lines, rows: w.Table(), wires: w}
	var found []Result
	for i := range t.rows {
		if r := &t.rows[i]; r.Direction == pinout.Out && r.GPIO > 0 && !t.left(r) {
			if err := lines.Output(r.GPIO, t.safe(r)); err != nil {
				found = append(found, denied(r, err))
			} else {
				t.driven = append(t.driven, r)
			}
		}
	}
	time.Sleep(lineSettles)
	for _, r := range t.driven {
		found = append(found, t.try(r))
	}
	for i := range t.rows {
		if r := &t.rows[i]; t.left(r) && r.GPIO > 0 {
			to := " is left to its serial port"
			if r.Group == pinout.Life {
				to = " is left alone: it restarts the board"
			}
			found = append(found, Result{r.Signal, NotTried, pinout.GPIO(r.GPIO) + to, ""})
		}
	}
	return found
}

// denied reports a line that could not be had.
func denied(r *pinout.Wire, err error) Result {
	return Result{r.Signal, Wrong, fmt.Sprintf("%s: %v", pinout.GPIO(r.GPIO), err), "end the program, or switch off the driver, that has it; gpioinfo names it"}
}

// linesTest is a try of the lines of a bench.
type linesTest struct {
	lines  hostlines.Lines
	wires  *pinout.Wires
	rows   []pinout.Wire
	driven []*pinout.Wire
}

// left says whether a line is left to whatever uses it: a serial port on the chip,
// and the board's reset.
func (t *linesTest) left(r *pinout.Wire) bool {
	return r.Group == pinout.Serial && r.Direction == pinout.Out || r.Group == pinout.Life
}

// goes says whether a level other than the safe one could make a motor turn.
func goes(r *pinout.Wire) bool { return r.Group.Goes() }

// safe is a line's level at rest.
func (t *linesTest) safe(r *pinout.Wire) bool {
	l, ok := t.wires.Layout.Line(r.Signal)
	return ok && t.wires.Layout.Lines[l].Idle
}

// try reads one driven line at its safe level, and at the other where that is
// harmless.
func (t *linesTest) try(r *pinout.Wire) Result {
	safe, pin := t.safe(r), pinout.GPIO(r.GPIO)
	at, err := t.lines.Read(r.GPIO)
	switch {
	case err != nil:
		return denied(r, err)
	case at != safe:
		return stuck(r, safe)
	case goes(r):
		return Result{Check: r.Signal, Says: fmt.Sprintf("%s is %s as it should; not made %s, for that could mean go", pin, level(safe), level(!safe))}
	}
	rest, err := t.put(r, safe)
	moved, again := t.put(r, !safe)
	back, last := t.put(r, safe)
	if err := errors.Join(err, again, last); err != nil {
		return denied(r, err)
	}
	var along []string
	for i, other := range t.driven {
		if other != r && (rest[i] != moved[i] || moved[i] != back[i]) {
			along = append(along, fmt.Sprintf("%s (%s)", other.Signal, pinout.GPIO(other.GPIO)))
		}
	}
	own := slices.Index(t.driven, r)
	switch {
	case len(along) > 0:
		return Result{r.Signal, Wrong, fmt.Sprintf("%s moves %s as well", pin, strings.Join(along, ", ")), "part the two wires: look for a bridge of solder, a stray strand, a wrong hole of the header"}
	case moved[own] == safe:
		return stuck(r, !safe)
	case back[own] != safe:
		return stuck(r, safe)
	}
	return Result{Check: r.Signal, Says: pin + " follows, high and low"}
}

// put writes a line and reads all driven ones.
func (t *linesTest) put(r *pinout.Wire, to bool) ([]bool, error) {
	if err := t.lines.Write(r.GPIO, to); err != nil {
		return make([]bool, len(t.driven)), err
	}
	time.Sleep(lineSettles)
	levels := make([]bool, len(t.driven))
	for i, one := range t.driven {
		var err error
		if levels[i], err = t.lines.Read(one.GPIO); err != nil {
			return levels, err
		}
	}
	return levels, nil
}

// stuck reports a line that is not at the level asked for.
func stuck(r *pinout.Wire, asked bool) Result {
	to := "ground"
	if !asked {
		to = "3.3 V or 5 V"
	}
	return Result{r.Signal, Wrong, fmt.Sprintf("%s is %s where %s is asked for", pinout.GPIO(r.GPIO), level(!asked), level(asked)),
		"unplug the board and try again: where it is well then, the board holds the line; otherwise look for a short to " + to}
}

func level(high bool) string {
	if high {
		return "high"
	}
	return "low"
}

// Jumper is a captured line that follows a driven one.
type Jumper struct {
	From, To pinout.Wire
	Inverted bool
}

// watchesFor is how long captured lines are watchesFor before a jumper is looked for: two
// pulses of the slowest receiver that a board might pass on.
const watchesFor = 50 * time.Millisecond

// looks is how often they are looked at, at least.
const looks = 1000

// Loopback finds which driven lines of the wheel sensors are connected to which captured
// lines, by a jumper that somebody laid in place of the board: it moves each of the
// former in turn. Captured lines are inputs throughout. One that moves by itself has a
// board on it, and nothing is driven then.
func Loopback(lines hostlines.Lines, w *pinout.Wires) ([]Result, []Jumper) {
	t := linesTest{lines: lines, rows: w.Table(), wires: w}
	var captured []*pinout.Wire
	var found []Result
	for i := range t.rows {
		r := &t.rows[i]
		if r.GPIO == 0 || t.left(r) || goes(r) {
			continue
		}
		if r.Direction == pinout.Out {
			t.driven = append(t.driven, r)
		} else if err := lines.Input(r.GPIO, hostlines.PullDown); err != nil {
			found = append(found, denied(r, err))
		} else {
			captured = append(captured, r)
		}
	}
	if moving := t.moving(captured); len(moving)+len(found) > 0 {
		return append(found, moving...), nil
	}
	for _, r := range t.driven {
		if err := lines.Output(r.GPIO, t.safe(r)); err != nil {
			return append(found, denied(r, err)), nil
		}
	}
	var jumpers []Jumper
	for _, r := range t.driven {
		jumpers = append(jumpers, t.reached(r, captured)...)
	}
	for _, to := range captured {
		found = append(found, loopbackOf(to, jumpers))
	}
	if len(jumpers) == 0 {
		found = append(found, Result{"jumpers", Wrong, "no captured line follows a driven one", "unplug the board and lay a jumper from a wheel sensor's line to a motor line, behind the level shifters; where one is laid, it is broken"})
	}
	return found, jumpers
}

// moving reports captured lines that move by themselves.
func (t *linesTest) moving(captured []*pinout.Wire) []Result {
	first := make([]bool, len(captured))
	moves := make([]bool, len(captured))
	for began, n := time.Now(), 0; n < looks || time.Since(began) < watchesFor; n++ {
		for i, r := range captured {
			at, _ := t.lines.Read(r.GPIO)
			if n == 0 {
				first[i] = at
			}
			moves[i] = moves[i] || at != first[i]
		}
		if n%20 == 0 {
			time.Sleep(lineSettles) // so that a machine that stalls looks more than once
		}
	}
	var found []Result
	for i, r := range captured {
		if moves[i] {
			found = append(found, Result{r.Signal, Wrong, pinout.GPIO(r.GPIO) + " moves by itself: a board drives it", "unplug the board before a jumper is laid"})
		}
	}
	return found
}

// reached returns the captured lines that follow r through four levels.
func (t *linesTest) reached(r *pinout.Wire, captured []*pinout.Wire) []Jumper {
	same, opposite := make([]int, len(captured)), make([]int, len(captured))
	const times = 4
	to := t.safe(r)
	for range times {
		to = !to
		if t.lines.Write(r.GPIO, to) != nil {
			return nil
		}
		time.Sleep(lineSettles)
		for i, c := range captured {
			if at, err := t.lines.Read(c.GPIO); err == nil && at == to {
				same[i]++
			} else if err == nil {
				opposite[i]++
			}
		}
	}
	var out []Jumper
	for i, c := range captured {
		if same[i] == times || opposite[i] == times {
			out = append(out, Jumper{*r, *c, opposite[i] == times})
		}
	}
	return out
}

// loopbackOf says what a captured line follows.
func loopbackOf(to *pinout.Wire, jumpers []Jumper) Result {
	var names []string
	inverted := false
	for _, j := range jumpers {
		if j.To.GPIO == to.GPIO {
			names = append(names, fmt.Sprintf("%s (%s)", j.From.Signal, pinout.GPIO(j.From.GPIO)))
			inverted = inverted || j.Inverted
		}
	}
	slices.Sort(names)
	says := fmt.Sprintf("%s follows %s", pinout.GPIO(to.GPIO), strings.Join(names, " and "))
	switch {
	case len(names) == 0:
		return Result{to.Signal, NotTried, pinout.GPIO(to.GPIO) + " follows no driven line: no jumper leads there, or it is broken", ""}
	case len(names) > 1:
		return Result{to.Signal, Wrong, says, "part the driven lines, or take one of the jumpers away"}
	case inverted:
		return Result{to.Signal, Warning, says + ", inverted", "an inverter stands in the way: leave it out, unless the bench file says inverted"}
	}
	return Result{Check: to.Signal, Says: says}
}
