package assertions

import (
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

const (
	// RestFrames is how many frames before a change tell how far a motor strays from where
	// it seems to stand: the last two, from the mean of those before.
	RestFrames = beforeFrames + leaveFrames
	// strayShare is the share of all frames at rest that stray no farther than stray.
	strayShare = 0.99
	// strayRoom times stray is what no frame at rest is taken to pass.
	strayRoom = 1.5
	// plainly is how many dead shifts a motor has to move by, so that it plainly moves.
	plainly = 2
)

// moves is how a step of trials moves one motor. Shares of range.
type moves struct {
	level  [2]float64 // where it stands last at each of the two levels, by the median
	stray  float64    // how far its frames at rest stray from what those before say, but for few
	usual  float64    // how far they do before every other change
	beyond float64    // how far a frame has to be from where the motor stood to count as an answer: the dead shift, or where it strays more, up to half of its way
	dead   float64    // the dead shift
	rise   float64    // s: how long it takes, by the median, from beyond to half of the way
}

// movedBy finds how the changes move a motor. It is false where the motor sent no frames.
func (e *Evidence) movedBy(w plant.Wheel, all []change) (m moves, ok bool) {
	m.dead = e.deadShift()
	var last [2][]float64
	var strayed, most []float64
	for i := range all {
		c := &all[i]
		frames := e.lastFrames(w, c.sent, RestFrames)
		n := len(frames)
		if n == 0 {
			continue
		}
		last[c.way] = append(last[c.way], frames[n-1].Value)
		if n < RestFrames || e.Late(c.sent, c.sent, c.uncertainty) {
			continue
		}
		stood := measure.Describe(valuesOf(frames[:beforeFrames])).Mean
		farthest := 0.0
		for _, f := range frames[beforeFrames:] {
			strayed = append(strayed, math.Abs(f.Value-stood))
			farthest = max(farthest, math.Abs(f.Value-stood))
		}
		most = append(most, farthest)
	}
	if len(last[0]) == 0 || len(last[1]) == 0 {
		return m, false
	}
	for k := range last {
		m.level[k] = median(last[k])
	}
	if len(strayed) > 0 {
		slices.Sort(strayed)
		m.stray, m.usual = measure.Quantile(strayed, strayShare), median(most)
	}
	if m.beyond = max(m.dead, min(strayRoom*m.stray, m.way()/2)); m.beyond > m.dead {
		m.rise = e.riseOf(w, all, &m)
	}
	return m, true
}

// way returns how far the motor goes.
func (m *moves) way() float64 { return math.Abs(m.level[1] - m.level[0]) }

// side returns the sense in which the motor goes when it leaves a level.
func (m *moves) side(from int) float64 {
	if m.level[1-from] < m.level[from] {
		return -1
	}
	return 1
}

// crowded says whether a motor's frames come so seldom that those which tell how it stands before a change reach back over
// the one before.
func (e *Evidence) crowded(w plant.Wheel, all []change) bool {
	over := 0
	for i := 1; i < len(all); i++ {
		if frames := e.lastFrames(w, all[i].sent, RestFrames); len(frames) > 0 && frames[0].Start < all[i-1].sent {
			over++
		}
	}
	return 2*over > len(all)
}

// plain says whether the motor moves so far that its answer is distinguished from what it does at rest.
func (m *moves) plain(dead float64) bool { return m.way() > plainly*dead && !m.restless() }

// moving says whether it moves by more than the dead shift at all, as far as can be told.
func (m *moves) moving() bool { return m.way() > m.dead+strayRoom*m.stray }

// restless says whether the motor moves as far by itself.
func (m *moves) restless() bool { return m.usual > m.dead && 2*m.usual > m.way() }

// early returns by how much earlier the motor may have left the dead shift than it was seen to
// go beyond what it strays by, s: what it takes for that part of the way at the pace of the next.
func (m *moves) early() float64 {
	if rest := m.way()/2 - m.beyond; m.beyond > m.dead && rest > 0 {
		return m.rise * (m.beyond - m.dead) / rest
	}
	return 0
}

// riseOf returns the median of the times that a motor takes from where it counts as an answer
// to half of its way, s.
func (e *Evidence) riseOf(w plant.Wheel, all []change, m *moves) float64 {
	var took []float64
	for i := range all {
		_, first, ok := e.leaves(w, &all[i], m, m.beyond)
		_, middle, reached := e.leaves(w, &all[i], m, m.way()/2)
		if ok && reached {
			took = append(took, max((middle.Start-first.Start).Seconds(), 0))
		}
	}
	if len(took) == 0 {
		return 0
	}
	return median(took)
}

// ended says whether a motor had come to rest before each next change: it then no longer goes
// on, and where it stands does not hang together with how long it had to get there.
func (e *Evidence) ended(w plant.Wheel, all []change, m *moves) bool {
	var on []float64
	for i := range all {
		c := &all[i]
		if frames := e.lastFrames(w, c.sent, RestFrames); len(frames) == RestFrames && c.waited > 0 {
			before, after := measure.Describe(valuesOf(frames[:beforeFrames])).Mean, measure.Describe(valuesOf(frames[beforeFrames:])).Mean
			on = append(on, m.side(1-c.way)*(after-before))
		}
	}
	if d := measure.Describe(on); d.N > 1 && d.Mean > m.dead/8+4*d.Deviation/math.Sqrt(float64(d.N)) {
		return false
	}
	for way := range 2 {
		var early, late []float64
		short, long := waits(all, way)
		for i := range all {
			c := &all[i]
			if c.way != way || c.waited == 0 {
				continue
			}
			stood := measure.Describe(valuesOf(e.lastFrames(w, c.sent, beforeFrames))).Mean
			if c.waited <= short {
				early = append(early, stood)
			} else if c.waited >= long {
				late = append(late, stood)
			}
		}
		if len(early) < 5 || len(late) < 5 || short == long {
			continue
		}
		// The spread of either median (common practice: 1.25 standard deviations of a mean's).
		spread := 1.25 * measure.RootSumSquare(
			measure.Describe(early).Deviation/math.Sqrt(float64(len(early))), measure.Describe(late).Deviation/math.Sqrt(float64(len(late))))
		if math.Abs(median(early)-median(late)) > m.dead/2+4*spread {
			return false
		}
	}
	return true
}

// waits returns the longest of the shortest third, and the shortest of the longest third, of
// the times that went before changes from a level.
func waits(all []change, way int) (short, long signal.Time) {
	var waited []signal.Time
	for i := range all {
		if all[i].way == way && all[i].waited > 0 {
			waited = append(waited, all[i].waited)
		}
	}
	if len(waited) == 0 {
		return 0, 0
	}
	slices.Sort(waited)
	return waited[len(waited)/3], waited[2*len(waited)/3]
}

// median returns the median of values, at least one, which it sorts.
func median(values []float64) float64 {
	slices.Sort(values)
	return measure.Quantile(values, 0.5)
}
