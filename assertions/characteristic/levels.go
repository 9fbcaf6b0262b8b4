package characteristic

import (
	"fmt"
	"math"
	"strconv"

	"hilrig/assertions/measure"
)

// cell is the readings of one level from one direction.
type cell struct {
	level     int
	direction Direction
	outputs   []float64
	own       float64 // mean of the squares of the readings' own standard uncertainties
	known     bool    // each reading has one
	first     int     // index of the earliest of them in Set.Readings
	variance  float64 // of one reading
}

func (c *cell) mean() float64 { return measure.Describe(c.outputs).Mean }

// levels is what the readings of a set come to level by level, over the range of levels that
// figures are taken over.
type levels struct {
	set   *Set
	cells map[[2]int]*cell // by level and direction, of all levels

	x    []float64 // commands of the levels of the range, ascending
	at   []int     // their indices into Set.Levels
	y    []float64 // means of readings, those that x has
	up   []int     // for each of x, the index into y of the mean from below, -1 without one
	down []int     // and from above

	spread // of one reading

	noPoints string // why there is no range, or none without holes
	noNoise  string // why the noise of readings is not known
}

// usable reports whether a reading stands, with a number and a place.
func (s *Set) usable(r *Reading) bool {
	return r.Status == Read && r.Level >= 0 && r.Level < len(s.Levels) && r.Direction <= Down &&
		finite(r.Output) && finite(r.Standard) && r.Standard >= 0
}

func finite(x float64) bool { return !math.IsNaN(x - x) }

// levelsOf sums the readings of a set up.
func levelsOf(s *Set) *levels {
	l := &levels{set: s, cells: map[[2]int]*cell{}}
	var cells []*cell // in the order of their first readings
	for i := range s.Readings {
		r := &s.Readings[i]
		if !s.usable(r) {
			continue
		}
		key := [2]int{r.Level, int(r.Direction)}
		c := l.cells[key]
		if c == nil {
			c = &cell{level: r.Level, direction: r.Direction, known: true, first: i}
			l.cells[key], cells = c, append(cells, c)
		}
		c.outputs = append(c.outputs, r.Output)
		c.own += float64(r.Standard * r.Standard)
		c.known = c.known && r.Standard > 0
		if r.At < s.Readings[c.first].At {
			c.first = i
		}
	}
	for _, c := range cells {
		c.own /= float64(len(c.outputs))
	}
	l.noNoise = l.spread.of(cells)
	l.noPoints = l.choose()
	for _, i := range l.at {
		l.x = append(l.x, s.Levels[i])
		l.up = append(l.up, l.appendMean(i, Up))
		l.down = append(l.down, l.appendMean(i, Down))
	}
	return l
}

// appendMean appends the mean of a cell to y and returns its index, -1 without readings.
func (l *levels) appendMean(level int, d Direction) int {
	c := l.cells[[2]int{level, int(d)}]
	if c == nil {
		return -1
	}
	l.y = append(l.y, c.mean())
	return len(l.y) - 1
}

// choose sets the range of levels, from the lowest to the highest that was read from both
// directions, and says why it is not one. The ends of all levels, where the direction turns,
// belong to it with one direction too. Where no two levels have both, readings from the
// direction that has more levels make the range.
func (l *levels) choose() string {
	s := l.set
	for i, x := range s.Levels {
		if !finite(x) {
			return fmt.Sprintf("level %d is no number", i+1)
		}
		if i > 0 && x == s.Levels[i-1] {
			return fmt.Sprintf("level %s stands there twice", percent(x))
		}
		if i > 0 && x < s.Levels[i-1] {
			return fmt.Sprintf("level %s stands after %s; levels have to ascend", percent(x), percent(s.Levels[i-1]))
		}
	}
	has := func(i int, d Direction) bool { return l.cells[[2]int{i, int(d)}] != nil }
	both := func(i int) bool { return has(i, Up) && has(i, Down) }
	wanted := both
	if count(s, both) < 2 {
		d := Up
		if count(s, func(i int) bool { return has(i, Down) }) > count(s, func(i int) bool { return has(i, Up) }) {
			d = Down
		}
		wanted = func(i int) bool { return has(i, d) }
	}
	first, last := len(s.Levels), -1
	for i := range s.Levels {
		if wanted(i) {
			first, last = min(first, i), i
		}
	}
	if end := len(s.Levels) - 1; last == end-1 && (has(end, Up) || has(end, Down)) {
		last = end
	}
	if first == 1 && (has(0, Up) || has(0, Down)) {
		first = 0
	}
	hole := ""
	for i := first; i <= last; i++ {
		switch {
		case wanted(i), (i == 0 || i == len(s.Levels)-1) && (has(i, Up) || has(i, Down)):
			l.at = append(l.at, i)
		case hole == "":
			hole = l.hole(i)
		}
	}
	switch {
	case len(l.at) == 0:
		return "no level was read" + l.highest()
	case len(l.at) == 1:
		return fmt.Sprintf("only one level, %s, was read", percent(s.Levels[l.at[0]])) + l.highest()
	}
	return hole
}

func count(s *Set, has func(i int) bool) (n int) {
	for i := range s.Levels {
		if has(i) {
			n++
		}
	}
	return n
}

// hole says that a level within the range is missing, and why as far as is known.
func (l *levels) hole(level int) string {
	for i := range l.set.Readings {
		if r := &l.set.Readings[i]; r.Level == level && r.Status != Read {
			return fmt.Sprintf("%s, within the range, was %s%s", percent(l.set.Levels[level]), r.Status, because(r.Why))
		}
	}
	return fmt.Sprintf("%s, within the range, was not read from both directions", percent(l.set.Levels[level]))
}

// highest says why the highest level of which a reading does not stand has none.
func (l *levels) highest() string {
	var of *Reading
	for i := range l.set.Readings {
		r := &l.set.Readings[i]
		if r.Status != Read && r.Why != "" && r.Level >= 0 && r.Level < len(l.set.Levels) && (of == nil || r.Level > of.Level) {
			of = r
		}
	}
	if of == nil {
		return ""
	}
	return fmt.Sprintf(", and %s was %s%s", percent(l.set.Levels[of.Level]), of.Status, because(of.Why))
}

func because(why string) string {
	if why == "" {
		return ""
	}
	return ": " + why
}

// percent writes a share.
func percent(share float64) string {
	return strconv.FormatFloat(share*100, 'g', 4, 64) + " %"
}

// over says which levels the figures are over.
func (l *levels) over() string {
	n := len(l.x)
	return fmt.Sprintf("over %s to %s, %d levels", percent(l.x[0]), percent(l.x[n-1]), n)
}

// averages writes the average of up and down of each level into dst, which has their number.
func (l *levels) averages(dst, y []float64) {
	for i := range dst {
		switch u, d := l.up[i], l.down[i]; {
		case u < 0:
			dst[i] = y[d]
		case d < 0:
			dst[i] = y[u]
		default:
			dst[i] = (y[u] + y[d]) / 2
		}
	}
}

// bothWays reports whether some level of the range was read from both directions.
func (l *levels) bothWays() bool {
	for i := range l.x {
		if l.up[i] >= 0 && l.down[i] >= 0 {
			return true
		}
	}
	return false
}

// span is the output's: between the largest and the least of the means.
func span(y []float64) float64 { return measure.RangeOf(y...).Width() }

// noise returns what is known of the errors of y.
func (l *levels) noise() measure.Noise {
	n := measure.Noise{Standard: make([]float64, len(l.y)), Half: make([]float64, len(l.y)), DegreesOfFreedom: l.degrees}
	set := func(level, index int, d Direction) {
		if index < 0 {
			return
		}
		c := l.cells[[2]int{level, int(d)}]
		n.Standard[index] = math.Sqrt(c.variance / float64(len(c.outputs)))
		n.Half[index] = (l.steps(c.variance) + l.set.Common) / 2
	}
	for i, level := range l.at {
		set(level, l.up[i], Up)
		set(level, l.down[i], Down)
	}
	return n
}

// steps returns the width of the rectangular error that reading in steps leaves in a mean: the step,
// or 0 where noise of half a step or more makes readings go to and fro between steps, so that a mean
// resolves them (B. Widrow, Statistical analysis of amplitude-quantized sampled-data systems
// (1961), from memory: what is left is below 1 % of a step).
func (l *levels) steps(variance float64) float64 {
	if r := l.set.Resolution; r > 0 && math.Sqrt(variance) < r/2 {
		return r
	}
	return 0
}
