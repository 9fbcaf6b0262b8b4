package characteristic

import (
	"errors"
	"fmt"
	"math"

	"hilrig/assertions/measure"
)

// Table is a correction table: which command gives which share of the output, between the
// start threshold and the saturation point. A firmware that passes its throttle through the table
// gets an output that is straight over it, under the condition and with the motor that
// it was measured with. Both columns ascend.
type Table struct {
	// In is shares of the output's range between both points: 0 at the start threshold, 1 from
	// saturation on.
	In []float64
	// Out is the commands that give them, 0..1. Between two entries the table is straight.
	Out []float64
	// Residual holds the independent linearity that the output has over In with the table, as a
	// share of that range. It is predicted: see [Correct]. Its ends are for any characteristic through the
	// readings; Expected is for one that bends evenly between them, as most do.
	Residual measure.Interval
	Expected float64
	Held     string // under what the readings were taken
}

// Command returns the command for a share of the output, within the ends of the table.
func (t *Table) Command(share float64) float64 { return piecewise(t.In, t.Out, share) }

// Correct makes the correction table of a set from the average of up and down readings at commands
// from 0 upwards. The error says why the characteristic cannot be inverted: because of what was not
// read, because it falls significantly, or because it does not rise over enough levels.
//
// The characteristic is made to rise by isotonic regression; the table is its inverse, straight
// between levels. Where the output stays level at either end, the table ends where that level
// meets the straight line of the next two levels.
//
// # What it leaves
//
// At the levels, what is left is the noise of the averages: the quantile of their independent
// linearity. Between two levels it is how far the characteristic lies from the straight line there,
// which no reading shows. Each level's distance from the straight line between its two neighbours is
// twice as far apart, four times too much where the characteristic bends evenly, and right where it has
// a corner in the middle between levels. The residual's upper end adds noise and the greatest of
// those distances, its lower end is 0.
func Correct(s *Set) (*Table, error) {
	j := judge{levels: levelsOf(s)}
	j.draw(Draws{})
	if j.noRange != "" {
		return nil, fmt.Errorf("no correction table: %s", j.noRange)
	}
	averages := make([]float64, len(j.x))
	j.averages(averages, j.y)
	from := 0
	for from < len(j.x) && j.x[from] < 0 {
		from++
	}
	x, y := j.x[from:], averages[from:]
	if len(x) < fewestLevels {
		return nil, fmt.Errorf("no correction table: only %d levels from 0 upwards were read, and it wants %d or more", len(x), fewestLevels)
	}
	uncertainty := j.uncertainty()
	highest := 0
	for i := range y {
		if y[i] > y[highest] {
			highest = i
		}
		if y[highest]-y[i] > uncertainty {
			return nil, fmt.Errorf("no correction table: the output falls significantly from %s to %s, so that two commands give the same", percent(x[highest]), percent(x[i]))
		}
	}
	knotX, knotY, err := knots(x, measure.Isotonic(y, nil), uncertainty)
	if err != nil {
		return nil, err
	}
	t := &Table{Out: knotX, Held: s.Held}
	first, last := knotY[0], knotY[len(knotY)-1]
	for _, v := range knotY {
		t.In = append(t.In, (v-first)/(last-first))
	}
	deviation := func(y []float64) float64 {
		j.averages(averages, y)
		s, _ := measure.IndependentLine(x, averages[from:])
		return s.Largest
	}
	noise := measure.Relative{Seminorm: deviation}.Bound(make([]float64, len(j.y)), j.errors).Noise
	mean := 0.0
	for _, e := range j.errors {
		mean += deviation(e) / float64(len(j.errors))
	}
	// The line divides what lies to one side of it, so that half of it is left.
	bends := t.bends() / 2
	t.Residual = measure.Interval{High: noise/(last-first) + bends}
	t.Expected = mean/(last-first) + bends/4
	return t, nil
}

// fewestKnots is of a table.
const fewestKnots = 4

// knots returns the points of a characteristic that never falls from where it leaves its lower
// level to where it reaches its upper one, each higher than that before.
func knots(x, y []float64, uncertainty float64) (knotX, knotY []float64, err error) {
	end := len(y) - 1
	above := top(y, uncertainty)
	mirrorX, mirrorY := make([]float64, len(x)), make([]float64, len(y))
	for i := range x { // turned round, the lower level is an upper one
		mirrorX[end-i], mirrorY[end-i] = -x[i], -y[i]
	}
	mirrored := top(mirrorY, uncertainty)
	below := end - mirrored
	if above-below < fewestKnots-1 {
		return nil, nil, errors.New("no correction table: the output rises over fewer than " + fmt.Sprint(fewestKnots) + " levels")
	}
	bottomX, topX := x[below], x[above]
	if below > 0 {
		bottomX = -knee(mirrorX, mirrorY, mirrored)
	}
	if above < end {
		topX = knee(x, y, above)
	}
	knotX, knotY = []float64{bottomX}, []float64{measure.Describe(y[:below+1]).Mean}
	upper := measure.Describe(y[above:]).Mean
	for i := below + 1; i < above; {
		n := i + 1
		for n < above && y[n] == y[i] { // pooled: as one, in the middle
			n++
		}
		if at := x[i] + (x[n-1]-x[i])/2; y[i] > knotY[len(knotY)-1] && y[i] < upper && at > knotX[len(knotX)-1] && at < topX {
			knotX, knotY = append(knotX, at), append(knotY, y[i])
		}
		i = n
	}
	knotX, knotY = append(knotX, topX), append(knotY, upper)
	if len(knotX) < fewestKnots || !(upper > knotY[0]) {
		return nil, nil, errors.New("no correction table: the output rises over fewer than " + fmt.Sprint(fewestKnots) + " levels")
	}
	return knotX, knotY, nil
}

// bends returns by how much the entries lie above and below the straight lines between their
// neighbours, at most, both together.
func (t *Table) bends() float64 {
	over := measure.Interval{}
	for i := 1; i+1 < len(t.In); i++ {
		straight := t.In[i-1] + float64((t.In[i+1]-t.In[i-1])*((t.Out[i]-t.Out[i-1])/(t.Out[i+1]-t.Out[i-1])))
		over.Include(t.In[i] - straight)
	}
	return math.Abs(over.Width())
}
