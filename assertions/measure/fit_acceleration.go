package measure

import (
	"fmt"
	"math"
	"slices"
)

// Turning is a shaft's angle over time: one entry for each time at which an angle was reached,
// in order of time.
type Turning struct {
	Time  []float64 // s
	Angle []float64 // rad
	// Stamp is the standard uncertainty of each time in s; Line that of each angle in rad, from
	// how evenly the encoder's lines stand. Both are at least 0.
	Stamp []float64
	Line  float64
	// Once is the amplitude in rad of an error that goes once round with the shaft, at a phase that nobody
	// knows: of an encoder that sits off its axis. At least 0.
	Once float64
}

// Between returns the part of the turning within from..to, in s. It shares the slices.
func (t *Turning) Between(from, to float64) Turning {
	i, _ := slices.BinarySearch(t.Time, from)
	j, _ := slices.BinarySearch(t.Time, to)
	for j < len(t.Time) && t.Time[j] <= to {
		j++
	}
	j = max(i, j)
	return Turning{Time: t.Time[i:j], Angle: t.Angle[i:j], Stamp: t.Stamp[i:j], Line: t.Line, Once: t.Once}
}

// Acceleration is a shaft's angular acceleration at the moment that its speed was a given one.
type Acceleration struct {
	Estimate         // rad/s2; Systematic is Bias as a standard uncertainty
	At       float64 // s, the moment
	Bias     float64 // rad/s2, at least 0: how far the fit may be off for what it cannot follow
	Half     float64 // s, half the length of time that the fit is over
	Turned   float64 // rad, the angle that it is over
	N        int     // entries that it is over
}

const (
	leastEntries = 16   // of the fit
	biasShare    = 0.3  // of the statistical uncertainty that the bias may have
	biasFloor    = 1e-4 // of the acceleration: a bias as small as that matters to nothing
	timeFloor    = 1e-9 // s: no stamp is better
)

// Fitter finds accelerations. It keeps room between calls; the zero value is ready. It is used by one
// goroutine.
type Fitter struct{ weight, sine, cosine []float64 }

// AccelerationAt returns the angular acceleration at the moment that the speed passed through w, in
// rad/s, upwards or downwards. The error says why there is none.
//
// A polynomial of the third degree is fitted to the angle around that moment, as far on one side as on
// the other, each entry weighted by one over the variance of its angle: that of the lines, and that of
// its stamp times the speed. First it is as wide as the entries allow. There its bias is found from the
// coefficient of the fourth degree, as far as that stands out of its own uncertainty: a 14th of the
// angle's fourth derivative times the half width squared, at even weights. The bias goes with the square
// of the width and the uncertainty with its power of -2.5, so that the width follows at which the bias is
// 0.3 of the uncertainty, or a ten thousandth of the acceleration. What an error that goes once round does to
// the fit is added to the uncertainty: over a part of a turn no residual shows it.
func (f *Fitter) AccelerationAt(w float64, t *Turning) (Acceleration, error) {
	at, err := f.passes(w, t)
	if err != nil {
		return Acceleration{}, err
	}
	wide, at, err := f.centred(w, at, math.Inf(1), t)
	if err != nil {
		return wide.Acceleration, err
	}
	off, u := wide.bias, wide.clean
	a := wide
	for range 3 {
		narrow := 1.0
		if off > 0 {
			narrow = min(1, max(math.Pow(biasShare*u/off, 1/4.5), math.Sqrt(biasFloor*math.Abs(wide.Value)/off)))
		}
		narrow = max(narrow, min(1, 2*leastEntries/float64(wide.N)))
		half := narrow * wide.Half
		if half >= 0.95*a.Half {
			break
		}
		if a, at, err = f.centred(w, at, half, t); err != nil {
			return a.Acceleration, err
		}
		u = a.Statistical * math.Pow(a.Half/wide.Half, 2.5)
	}
	part := t.Between(at-a.Half, at+a.Half)
	a.Statistical = RootSumSquare(a.Statistical, f.once(w, at, &part))
	share := a.Half / wide.Half
	a.Bias = off * share * share
	a.Systematic = Rectangular(a.Bias)
	return a.Acceleration, nil
}

// around is an acceleration with what is needed to choose the width.
type around struct {
	Acceleration
	bias  float64 // rad/s2, as the fourth degree tells it
	clean float64 // rad/s2: the statistical uncertainty, were there no bias in the residuals
}

// centred fits with half that width, or what there is, around the moment that it finds itself.
func (f *Fitter) centred(w, at, half float64, t *Turning) (a around, middle float64, err error) {
	whole := math.IsInf(half, 1)
	for range 8 {
		wide := min(half, at-t.Time[0], t.Time[len(t.Time)-1]-at)
		part := t.Between(at-wide, at+wide)
		if len(part.Time) < leastEntries {
			return a, at, tooFew(w, len(part.Time))
		}
		if a, err = f.local(w, at, whole, &part); err != nil {
			return a, at, err
		}
		a.Half = wide
		moved := math.Abs(a.At - at)
		if !(moved <= wide) {
			return a, at, fmt.Errorf("the speed does not pass evenly through %.4g rad/s", w)
		}
		at = a.At
		if moved <= 0.02*wide {
			break
		}
	}
	return a, at, nil
}

func tooFew(w float64, n int) error {
	return fmt.Errorf("%d edges around %.4g rad/s are fewer than %d", n, w, leastEntries)
}

// passes finds about when the speed passes through w: by speeds over a twelfth of the entries, then, as a
// shaft that goes on at a speed leaves few entries for what came before, over half as many and so on, down to
// eight.
func (f *Fitter) passes(w float64, t *Turning) (float64, error) {
	n := len(t.Time)
	if n < leastEntries {
		return 0, tooFew(w, n)
	}
	r := RangeOf()
	for wide := max(n/12, 8); ; wide = max(wide/2, 8) {
		if at, ok := passesOver(wide, w, t, &r); ok {
			return at, nil
		}
		if wide == 8 {
			return 0, fmt.Errorf("the speed does not pass through %.4g rad/s, it goes from %.4g rad/s to %.4g rad/s", w, r.Low, r.High)
		}
	}
}

// passesOver does so by speeds over so many entries, which it takes into seen.
func passesOver(wide int, w float64, t *Turning, seen *Interval) (float64, bool) {
	var lastSpeed, lastAt float64
	for i := 0; i+wide < len(t.Time); i += max(wide/2, 1) {
		speed := (t.Angle[i+wide] - t.Angle[i]) / (t.Time[i+wide] - t.Time[i])
		at := (t.Time[i+wide] + t.Time[i]) / 2
		if i > 0 && (lastSpeed < w) != (speed < w) {
			along := (w - lastSpeed) / (speed - lastSpeed)
			return lastAt + float64(along*(at-lastAt)), true
		}
		lastSpeed, lastAt = speed, at
		seen.Include(speed)
	}
	return 0, false
}

// local fits around at and returns what it finds at the moment that the speed is w; with its bias
// where that is asked for.
func (f *Fitter) local(w, at float64, biased bool, part *Turning) (around, error) {
	f.weigh(w, part)
	var a around
	a.N, a.Turned = len(part.Time), math.Abs(part.Angle[len(part.Angle)-1]-part.Angle[0])
	p, ok := PolynomialOf(3, part.Time, part.Angle, f.weight, at)
	if !ok {
		return a, fmt.Errorf("%d edges around %.4g rad/s do not tell an acceleration", a.N, w)
	}
	speed, alpha, jerk := p.Derivative(1), p.Derivative(2), p.Derivative(3)
	if alpha == 0 {
		return a, fmt.Errorf("the speed rests at %.4g rad/s", speed)
	}
	after := (w - speed) / alpha
	if root := float64(alpha*alpha) + float64(2*jerk*(w-speed)); root > 0 { // of speed + alpha s + jerk s^2/2 = w, the near one
		after = 2 * (w - speed) / (alpha + math.Copysign(math.Sqrt(root), alpha))
	}
	a.At = at + after
	a.Value = alpha + float64(jerk*after)
	a.Statistical = p.Standard(0, -jerk/a.Value, 1, after)
	a.DegreesOfFreedom = max(effectiveSpread(p.N, p.lag1)-4, 1)
	a.clean = a.Statistical
	if !biased {
		return a, nil
	}
	if q, ok := PolynomialOf(4, part.Time, part.Angle, f.weight, at); ok {
		if c := q.Standard(0, 0, 0, 0, 1); c > 0 {
			stands := q.Derivative(4) / c
			a.bias = math.Abs(q.Derivative(2)-alpha) * math.Sqrt(1-1/max(float64(stands*stands), 1))
		}
		p.Residual, p.lag1 = q.Residual, q.lag1
		a.clean = p.Standard(0, -jerk/a.Value, 1, after)
	}
	return a, nil
}

// once returns the standard uncertainty that an error going once round gives the fit: the root mean square over all its phases.
func (f *Fitter) once(w, at float64, part *Turning) float64 {
	if part.Once == 0 {
		return 0
	}
	f.weigh(w, part)
	f.sine, f.cosine = f.sine[:0], f.cosine[:0]
	for _, angle := range part.Angle {
		s, c := math.Sincos(angle)
		f.sine, f.cosine = append(f.sine, s), append(f.cosine, c)
	}
	p, _ := PolynomialOf(3, part.Time, f.sine, f.weight, at)
	q, _ := PolynomialOf(3, part.Time, f.cosine, f.weight, at)
	return part.Once * RootSumSquare(p.Derivative(2), q.Derivative(2)) / math.Sqrt2
}

// weigh sets the weights of the entries of part, at a speed of w.
func (f *Fitter) weigh(w float64, part *Turning) {
	f.weight = f.weight[:0]
	for _, u := range part.Stamp {
		u = max(u, timeFloor) * w
		f.weight = append(f.weight, 1/(float64(part.Line*part.Line)+float64(u*u)))
	}
}
