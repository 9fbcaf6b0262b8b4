package assertions

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/measure"
)

// sweptEdges are what the edges of the board's dead band tell.
type sweptEdges struct {
	demand measure.Estimate // rad/s, their middle
	band   measure.Estimate // rad/s, half of their distance
	// Where shifts set in with no more than what counts as none, hidden says so, and counted is the band of firmware that
	// leaves those out, rad/s: half the distance of where the shift would come down to none.
	counted measure.Estimate
	hidden  bool
	// Of shifts that grow beyond the edge, sets is half the distance of where they set in and line that of where lines
	// through them come down to none, rad/s: a shift that fades in is bent, and no line tells its edge.
	sets, line measure.Estimate
	grows      bool
	lag        string  // how far the shift stands behind the yaw rate, in words
	open       float64 // rad/s, how far the board's demand may lie from the middle, of a shift that gathers
}

// edges works out the edges of the dead band on both ways.
func (w *sweep) edges() (sweptEdges, error) {
	var found [2][2]sweptEdge
	var above, jump float64
	level := false // where a line is, it tells an edge only by its jump
	for i, leg := range w.leg {
		for k, sense := range senses {
			e, ok := w.edge(leg, sense)
			if !ok {
				return sweptEdges{}, w.noEdge()
			}
			found[i][k] = e
			level = level || !(e.steep > 0)
			above, jump = above+e.above, jump+e.jump
		}
	}
	if level && !(above > jump) {
		return sweptEdges{}, w.noEdge()
	}
	// All are read the same way: of a jump on one side and a line on the other the middle would lie off.
	edges := w.between(&found, above > jump)
	if !level {
		sets := w.between(&found, true)
		edges.grows, edges.sets, edges.line = true, sets.band, w.between(&found, false).band
		if at := w.inSteps(sets.demand, &found); above <= jump && at.Standard() < edges.demand.Standard()/2 { // the lines are bent
			edges.demand, edges.lag = at, sets.lag
		}
	}
	if edges.hidden = above > jump && !level && above/4 <= plainEdge*w.t; edges.hidden {
		edges.counted = w.between(&found, false).band
	}
	return edges, nil
}

// noEdge is the error of a sweep without edges.
func (w *sweep) noEdge() error {
	return w.s.undecided("the shift does not grow with the yaw error on both sides of the demand, so that its edge is not found; sweep more slowly, or farther")
}

// gathers returns what the changes of the shift's sense tell where it changes so late that it gathers with time, which
// a policy without shift_at leaves open; ok is false where the policy says how it grows, or the shift follows at once.
// Such a shift changes its sense only after the error has: on either way the board's demand lies before the
// change, and so between the two.
func (w *sweep) gathers() (found sweptEdges, ok bool) {
	if !w.p.MayIntegrate() {
		return found, false
	}
	var change [2]float64
	for i, leg := range w.leg {
		points := make([]sweepPoint, len(leg)) // from oversteer on towards understeer
		for k, p := range leg {
			points[k] = sweepPoint{x: -p.x, shift: p.shift}
		}
		slices.SortStableFunc(points, func(a, b sweepPoint) int { return cmp.Compare(a.x, b.x) })
		from, wrong := changePoint(points, 0)
		if wrong > len(points)/10 || !w.clear(points[:from], -1) || !w.clear(points[from:], 1) {
			return found, false
		}
		change[i] = -(points[from-1].x + points[from].x) / 2
	}
	apart := (change[0] - change[1]) / 2 // how far behind on each way
	h := w.e.history(w.s)
	if atOnce := w.e.looksBack(w.e.firmware(*w.p).law, &h) + answered; !(apart/w.perSecond() > atOnce.Seconds()) {
		return found, false
	}
	gap := math.Abs(w.perSecond()) * (w.s.To - w.s.From).Seconds() / float64(len(w.leg[0])+len(w.leg[1]))
	middle := measure.Estimate{Value: w.sign * (change[0] + change[1]) / 2, Systematic: measure.Rectangular(gap)}
	return sweptEdges{demand: middle, lag: w.lag(change), open: math.Abs(apart)}, true
}

// clear says whether many of some points show a shift of a sense clearly.
func (w *sweep) clear(points []sweepPoint, sense float64) bool {
	n := 0
	for _, p := range points {
		if sense*p.shift > w.t {
			n++
		}
	}
	return n >= fewestSwept/4
}

// senses are those of understeer and of oversteer.
var senses = [2]float64{1, -1}

// between returns what edges on both ways tell, each of both senses.
func (w *sweep) between(found *[2][2]sweptEdge, jumps bool) sweptEdges {
	var middle, half []measure.Term
	var sum, difference, slope float64
	var centre [2]float64
	for i := range found {
		for k, sense := range senses {
			edge := found[i][k].at(jumps, sense)
			middle = append(middle, measure.Term{Of: edge, Slope: 0.25})
			half = append(half, measure.Term{Of: edge, Slope: 0.25 * -sense})
			sum += edge.Value / 4
			difference -= sense * edge.Value / 4
			slope += found[i][k].rises(jumps) / 4
			centre[i] += edge.Value / 2
		}
	}
	// What all shifts share moves all edges alike.
	common := measure.Term{Of: measure.Estimate{Systematic: w.systematic}, Slope: 1 / slope}
	demand := measure.Combine(sum, append(middle, common)...)
	band := measure.Combine(difference, append(half, common)...)
	demand.Value *= w.sign
	return sweptEdges{demand: demand, band: band, lag: w.lag(centre)}
}

// demanded holds the board's demand against the policy's, of which it is known to open, rad/s.
func (w *sweep) demanded(est measure.Estimate, lag string, open float64) Result {
	limit := between(w.allowed.Low-open, w.allowed.High+open)
	r := w.rate("yaw rate", "yaw rate that the board takes as demanded", est, limit)
	if open > 0 {
		lag += fmt.Sprintf(", so that it gathers with time, and by %s deg/s the demand may lie off the middle of where it changes its sense", degrees(open))
	}
	return r.explained(fmt.Sprintf("the board takes %s ± %s deg/s as demanded, at %s m/s with %s deg of steering; the policy declares %s deg/s, within %s: %s to %s. %s (shift %s behind the yaw rate)",
		degrees(est.Value), degrees(est.Expanded()), number(w.s.Speed), degrees(w.s.Steer), degrees(w.demand), share(w.p.Demand.Within), degrees(limit.Low), degrees(limit.High), sentence(w.likelyReason(est.Interval())), lag),
		w.e.remedy(est, limit, w.s.To-w.s.From, 180/math.Pi, " deg/s"))
}

// banded holds the board's dead band against the policy's, with the tolerance of the demand. Of a shift that sets in with no
// more than what counts as none either reading may be the firmware's band: it may have left out smaller shifts, which
// the policy takes for none.
//
// A shift may also come in over a range of errors from the edge of the band on: the edge is then where it sets in, and the line
// through what is beyond comes down to none anywhere below.
func (w *sweep) banded(found *sweptEdges) Result {
	r := w.bandOf(found.band)
	if found.grows && r.Verdict != Pass {
		limit := w.bandLimit()
		most := limit.High + w.seen()
		faded := w.bandHeld(found.sets, between(limit.Low, most))
		if below := w.bandHeld(found.line, AtMost(most)); below.Verdict.Compare(faded.Verdict) > 0 {
			faded = below
		}
		if faded.Verdict.Compare(r.Verdict) < 0 {
			return faded
		}
	}
	if found.hidden && r.Verdict != Pass {
		if counted := w.bandOf(found.counted); counted.Verdict.Compare(r.Verdict) < 0 {
			return counted
		}
	}
	return r
}

// bandLimit returns what the board's dead band may be.
func (w *sweep) bandLimit() Limit {
	limit := measure.Within(*w.p.DeadBand, w.bandWithin())
	if limit.Low <= 0 { // no firmware ignores less than nothing: what is read below is how the shift bends
		limit = AtMost(limit.High)
	}
	return limit
}

// bandWithin returns by how much it may be out, rad/s.
func (w *sweep) bandWithin() float64 { return w.p.Demand.Within * math.Abs(w.demand) }

// seen returns how far beyond the edge of the dead band the shift of the laziest firmware is large enough to be seen to
// set in, rad/s.
func (w *sweep) seen() float64 {
	at := w.p.ShiftAt
	size := at.Is * (1 - at.Within) * (w.s.Gain / at.Gain)
	return w.little() * (at.Error - *w.p.DeadBand) / size
}

// bandOf holds a dead band against the policy's.
func (w *sweep) bandOf(est measure.Estimate) Result { return w.bandHeld(est, w.bandLimit()) }

// bandHeld holds a dead band, in one of the ways to read it, against what it may be.
func (w *sweep) bandHeld(est measure.Estimate, limit Limit) Result {
	r := w.rate("dead band", "yaw error that the board ignores", est, limit)
	return r.explained(fmt.Sprintf("the board ignores yaw errors up to %s ± %s deg/s; the policy declares %s deg/s, and %s is what its demand may be out by",
		degrees(est.Value), degrees(est.Expanded()), degrees(*w.p.DeadBand), degrees(w.bandWithin())),
		w.e.remedy(est, limit, w.s.To-w.s.From, 180/math.Pi, " deg/s"))
}

// rate turns an estimate in rad/s to a judged result in deg/s.
func (w *sweep) rate(what, quantity string, est measure.Estimate, limit Limit) Result {
	return estimated(Result{Name: w.name(what), Step: w.s.Name, At: w.s.From}, quantity, "deg/s", est, limit, 180/math.Pi)
}

// lag returns in words how far the shift stands behind the yaw rate.
func (w *sweep) lag(centre [2]float64) string {
	return number((centre[0]-centre[1])/(2*w.perSecond())*1000) + " ms"
}

// perSecond returns how fast the yaw rate goes on the way there, rad/s in a second, in the sense of the demand.
func (w *sweep) perSecond() float64 {
	first := w.leg[0]
	return (first[len(first)-1].x - first[0].x) / ((w.s.To - w.s.From).Seconds() / 2)
}

// sweptEdge is where the shift of one sense begins, as two ways of reading have it, rad/s: where a straight line
// through the shifts near the edge comes down to none, and where the shift sets in.
type sweptEdge struct {
	line, sets measure.Estimate
	steep      float64 // how steeply the shift grows with the yaw rate, shares per rad/s
	above      float64 // what the line comes to where the shift sets in,
	jump       float64 // and from what on that is a jump
	over       float64 // over how much of the yaw rate it sets in, rad/s
}

// inSteps returns where shifts set in with what the steps of the commands leave open of that.
func (w *sweep) inSteps(sets measure.Estimate, found *[2][2]sweptEdge) measure.Estimate {
	var slope float64
	for i := range found {
		for _, e := range found[i] {
			slope += e.steep / 4
		}
	}
	sets.Systematic = measure.RootSumSquare(sets.Systematic, measure.Resolution(w.e.CommandStep)/slope)
	return sets
}

// rises returns how steeply the shift grows where its edge is read, of one that sets in with a jump or not.
func (e *sweptEdge) rises(jumps bool) float64 {
	if jumps {
		return max(e.above/e.over, e.steep)
	}
	return e.steep
}

// at returns where the shift of a sense begins, of one that sets in with a jump or not.
func (e *sweptEdge) at(jumps bool, sense float64) measure.Estimate {
	at := e.line
	if jumps {
		at = e.sets
	}
	at.Value *= -sense
	return at
}

// edge returns the yaw rate at which the shift of one sense begins, +1 for
// understeer and -1 for oversteer. ok is false where no line is found that grows away from the demand.
func (w *sweep) edge(leg []sweepPoint, sense float64) (e sweptEdge, ok bool) {
	points := make([]sweepPoint, len(leg)) // shift above 0 and growing with x
	for i, p := range leg {
		points[i] = sweepPoint{x: -sense * p.x, shift: sense * p.shift}
	}
	slices.SortStableFunc(points, func(a, b sweepPoint) int { return cmp.Compare(a.x, b.x) })
	little := w.little()
	from, wrong := changePoint(points, little)
	beyond := points[from:]
	if len(beyond) < fewestSwept/4 {
		return e, false
	}
	shifts := make([]float64, len(beyond))
	for i, p := range beyond {
		shifts[i] = p.shift
	}
	slices.Sort(shifts)
	// A shift may be held at some most; the line is drawn through what is well below.
	near := beyond
	if end, _ := changePoint(beyond, 0.6*measure.Quantile(shifts, 0.95)); end >= fewestSwept/4 {
		near = beyond[:end]
	}
	var x, y []float64
	for _, p := range near {
		x, y = append(x, p.x), append(y, p.shift)
	}
	l, ok := measure.LineOf(x, y)
	if !ok {
		return e, false
	}
	e = sweptEdge{line: l.Zero(0), steep: l.Slope, above: l.At(near[0].x), jump: 3*little + 2*l.Residual}
	e.sets = e.line
	if from > 0 {
		// Half of those in a stretch in which both occur are on the wrong side at most.
		apart := (points[len(points)-1].x - points[0].x) / float64(len(points)-1)
		gap := near[0].x - points[from-1].x
		mixed := measure.Rectangular(float64(4*wrong) * apart)
		if e.steep > 0 {
			mixed = min(mixed, e.line.Standard())
		}
		e.over = gap + float64(4*wrong)*apart
		e.sets = measure.Estimate{Value: near[0].x - gap/2, Systematic: measure.RootSumSquare(measure.Rectangular(gap), mixed)}
	}
	return e, e.steep > 0 || from > 0
}

// little returns the shift from which on one is seen to have set in.
func (w *sweep) little() float64 { return max(w.t/4, 2*w.e.CommandStep) }

// changePoint returns the index that best parts points in order of x into those
// whose shift is below level and those whose is not: the one with the fewest on
// the wrong side, and how many these are.
func changePoint(points []sweepPoint, level float64) (at, least int) {
	wrong := 0
	for _, p := range points {
		if p.shift < level {
			wrong++
		}
	}
	least = wrong
	for i, p := range points {
		if p.shift < level {
			wrong--
		} else {
			wrong++
		}
		if wrong < least {
			least, at = wrong, i+1
		}
	}
	return at, least
}

// sentence begins words with a capital.
func sentence(words string) string {
	if words == "" {
		return words
	}
	return string(words[0]-'a'+'A') + words[1:]
}
