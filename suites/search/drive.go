package search

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"hilrig/suites/language"
)

// channel is one of the quantities that a drive moves.
type channel int

// The channels of a drive.
const (
	speed channel = iota
	steer
	yawRate
	throttle
	gain
	channels
)

// written holds the key and the unit of each channel in a suite file.
var written = [channels]struct{ key, unit string }{
	speed: {"speed", "m/s"}, steer: {"steer", "deg"}, yawRate: {"yaw_rate", "deg/s"}, throttle: {"throttle", "%"}, gain: {"gain", "%"},
}

// value is what a channel does in a piece: it goes from one value to another over a time in ms, or
// holds the second, to which it leaps, where that is 0.
type value struct {
	from, to float64
	over     int
}

// text writes the value as a suite file has it.
func (v value) text(c channel) string {
	if v.over == 0 {
		return number(v.to) + " " + written[c].unit
	}
	unit := written[c].unit
	return fmt.Sprintf("{ramp: [%s %s, %s %s], over: %d ms}", number(v.from), unit, number(v.to), unit, v.over)
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// piece is a part of a drive.
type piece struct {
	values [channels]value
	length int // ms
}

// drive is one drawn drive. It has its pieces one after the other; where a wire is lost, its last
// piece is held before, while and after it is, so that there it has one alone.
type drive struct {
	pieces   []piece
	loss     *loss   // nil: all wires are sound
	point    *point  // nil: nothing is asked of its only piece but what is asked of every command
	wait     int     // s that the board has driven straight on before the first piece
	straight float64 // deg/s that the car turns at with the wheels straight and no gain, for 3 s before the point; 0: it does not
	held     bool    // speed and throttle stay as they are, after a baseline without gain
	gathers  bool    // a shift grows with time, and is given the time to
}

// clone returns a copy that shares nothing.
func (d *drive) clone() drive {
	out := *d
	out.pieces = slices.Clone(d.pieces)
	return out
}

// suite writes the drive as a suite file of this name.
func (d *drive) suite(name, about string) language.Source {
	var b strings.Builder
	fmt.Fprintf(&b, "suite: %s\nabout: %s\n\ncases:\n", name, about)
	switch {
	case d.loss != nil:
		d.lossCase(&b)
	case d.point != nil:
		d.pointCase(&b)
	default:
		d.drivenCase(&b)
	}
	return language.Source{Path: strings.ReplaceAll(name, " ", "_") + ".yaml", Data: []byte(b.String())}
}

// drivenCase writes a case whose every command is asked about. Its range is the widest that there
// is: the language wants something expected of each case, and the policy is asked about anyhow.
func (d *drive) drivenCase(b *strings.Builder) {
	b.WriteString("  - case: drive\n    settle: 0 ms\n")
	if d.held {
		b.WriteString("    baseline: {gain: 0 %, settle: 300 ms, observe: 400 ms}\n")
	} else {
		b.WriteString("    baseline: none\n")
	}
	b.WriteString("    steps:\n")
	if d.wait > 0 {
		first := &d.pieces[0].values
		fmt.Fprintf(b, "      - {step: waiting, speed: %s m/s, steer: 0 deg, yaw_rate: 0 deg/s, throttle: %s %%, gain: %s %%, observe: %d s}\n",
			number(first[speed].to), number(first[throttle].to), number(first[gain].to), d.wait)
	}
	for i := range d.pieces {
		p := &d.pieces[i]
		fmt.Fprintf(b, "      - {step: piece %d, %s, observe: %d ms}\n", i+1, p.text(), p.length)
	}
	b.WriteString("    expect:\n      - {motor: all, range: [-100 %, 100 %]}\n")
}

// text writes what the channels do.
func (p *piece) text() string {
	var all []string
	for c, v := range p.values {
		all = append(all, written[c].key+": "+v.text(channel(c)))
	}
	return strings.Join(all, ", ")
}

// cost is what shrinking makes less of: pieces first, then ramps, lengths and digits.
func (d *drive) cost() float64 {
	cost := 50 * float64(d.wait)
	if d.straight != 0 {
		cost += 500
	}
	for i := range d.pieces {
		p := &d.pieces[i]
		cost += 1000 + float64(p.length)/20
		for c, v := range p.values {
			cost += digits(v.to)
			if v.over > 0 {
				cost += 60 + digits(v.from) + float64(v.over)/100
			}
			if i > 0 && (v.over > 0 || v.to != d.pieces[i-1].values[c].to) {
				cost += 10 // it changes
			}
		}
	}
	if d.loss != nil {
		cost += 100 * float64(d.loss.after)
	}
	return cost
}

// digits tells how far from round a number is: the fewer of its digits are not 0, the rounder.
func digits(x float64) float64 {
	n := 0.0
	for _, r := range number(x) {
		if r >= '1' && r <= '9' {
			n += 2
			if r == '5' {
				n--
			}
		}
	}
	return n
}
