package measure

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Excitation is what moved an input of the board: values at evenly
// spaced times with straight lines between them.
type Excitation struct {
	Start     float64 // s, time of Values[0]
	Step      float64 // s, above 0
	Values    []float64
	Staircase bool // truly each value was held from half a step before its time to half a step after

	// Beside is what else moved an input of the board, as another sensor's noise, and when it took
	// effect: in the order of time. It is left out where nothing did or nothing is known of it.
	Beside []Known
}

// at returns the value at time t in s; beyond the ends, that of the end.
func (p *Excitation) at(t float64) float64 {
	place := (t - p.Start) / p.Step
	last := len(p.Values) - 1
	switch {
	case !(place > 0):
		return p.Values[0]
	case place >= float64(last):
		return p.Values[last]
	}
	i := int(place)
	return p.Values[i] + float64((place-float64(i))*(p.Values[i+1]-p.Values[i]))
}

// Answer is one frame of an output.
type Answer struct {
	At          float64 // s, when the frame began, by which time its value stood
	Value       float64
	Uncertainty float64 // half-width of what the sampler left open, unit of Value
}

// Updates is how often a board reads an input anew, found from outside.
type Updates struct {
	Period   float64  // s, the mean from reading to reading
	Within   Interval // s, holds Period with 99 % confidence
	Lag      float64  // s, from a reading to the first frame that could carry it
	Readings int      // how many frames the result rests on
	Longest  Interval // s, the longest time from reading to reading that was seen, at least and at most; empty: the frames show none
	Aliases  []Peak   // other periods that explain the frames nearly as well, within 10 : 1

	// Locked says that the frames stand still against the loop, so that every one
	// shows it at the same point: Period is that from frame to frame, and the loop's
	// may also be a half of it, a third and so on.
	Locked bool
	// Paced says that each frame shows the loop at the same point and the frames come
	// unevenly, as no timer has them: the loop's turns pace them, and each carries a new
	// reading. Period is the mean time from frame to frame.
	Paced bool
	// Slips says that the readings wander as far as is looked for: it is rather a board that now
	// leaves a turn out and now does not, whose readings have no one period.
	Slips bool
	// Unresolved says that the readings spread too far to show a grid. The period is below the
	// upper end of Within all the same, which is Period too.
	Unresolved bool
}

// Peak is one period that explains the frames.
type Peak struct {
	Period float64 // s
	Odds   float64 // how much better the best explains them, at least 1
}

// Decided says whether the period is one and only one.
func (u *Updates) Decided() bool { return len(u.Aliases) == 0 && !u.Locked && !u.Unresolved }

// Whichever returns the interval that holds the period, whichever explanation is the right one: a period that explains the
// frames nearly as well as the best is known as well as that, as a share of itself.
func (u *Updates) Whichever() Interval {
	all := u.Within
	for _, a := range u.Aliases {
		share := a.Period / u.Period
		all.Include(float64(share * u.Within.Low))
		all.Include(float64(share * u.Within.High))
	}
	return all
}

// The periods that are looked for, s.
const (
	ShortestPeriod = 0.35e-3
	LongestPeriod  = 60e-3
)

// aliasOdds is how much worse a period may explain the frames before it is
// dropped, as a logarithm: 10 : 1.
const aliasOdds = 2.302585

// dropped is by how much the logarithm of the likelihood falls at the ends of
// the interval: half of chi-squared's 6.63 for 99 % with one degree of freedom.
const dropped = 3.317

var errStill = errors.New("the input does not move this output")

// errCoarse says that nothing stands between two limits of the output.
var errCoarse = errors.New("this output takes its lowest and its highest values only; a loop shows in what stands between them")

// UpdatePeriod finds the mean period at which a board reads an input, from the
// known input and the frames of an output that follows it. The input has to
// move all the time, smoothly, and slowly against the period that is sought: a
// chirp of 4 to 6 Hz serves for periods of 0.4 to 30 ms. It has to change its
// frequency, lest it stand still against the loop. step is the smallest
// difference that the output can show.
//
// # Method
//
// The output is fitted as a polynomial of the input some time before, and, where it goes
// with what moved beside the input, as a share of that. A sensor that counts marks tells a
// slow speed later than a fast one, which is fitted too. So the output is known for each
// time at which the board may have read: by how old its value is, each frame tells the time
// since the last reading, as far as noise allows. The ages of a board that reads every T lie
// within one T, and go up by the time from frame to frame, modulo T; and a frame before which
// no reading was due repeats the value of the last. A hidden Markov model follows that phase
// round a circle, under each T of a fine grid, with a period that wanders from turn to turn,
// jitter of every reading, noise of the value, its steps, values that are alike by chance, a
// few outliers, and a few readings that come late. Its likelihood says how well T explains
// the frames, harmonics and all. The maxima are refined, with what they say of noise, jitter
// and wander, and the polynomial is fitted once more with the ages that the best one
// predicts.
//
// A period is believed where it explains the frames better, by far more than the periods
// that are tried make of chance, than ages of which nothing is known from frame to frame.
//
// # Bias and uncertainty
//
// Within ends where the logarithm of the likelihood has dropped by 3.3 for one wander, and for
// all together where 99 % of them lie, each as likely as the frames make it: it holds the period that the loop has in the long run, and the mean
// over the time that was watched. Of 400 simulated boards without noise of 40 Hz to 2 kHz,
// watched for 9 s, with jitter about the grid (up to 10 % of the period rms) or accumulating
// (up to 1 %), it held 95 in 100 at least. Boards with noise, and how wide it is beside that of
// one who knows each turn, are in the test of package suites that draws boards of known
// timing. A constant lag between input and output does no harm. Turns that come late once in a
// while do not shift the period; Longest shows them where frames come more often than turns.
// Inputs that a board reads in coarse steps and that stay between two of them make the
// output noisy for long: play values that stand in the middle of a step.
//
// Windows, loop and frames of one clock may go through each other in a pattern that repeats with a few frames. Where
// ages show such a one that the best period does not explain, they are no loop's, and it is Unresolved.
//
// Periods that explain the frames nearly as well are named in Aliases. What can
// not be told by anyone who sees only the frames is marked Locked, what is beyond
// the output's resolution Unresolved.
//
// Frames have to be in order of time, at least 50 of them. An error says why the
// output cannot be read.
func UpdatePeriod(in Excitation, frames []Answer, step float64) (Updates, error) {
	return UpdatePeriodWithin(in, frames, step, Interval{0, math.Inf(1)})
}

// UpdatePeriodWithin is UpdatePeriod where other evidence, as [SeparateResponse], says
// between which bounds the period lies, s. A board that reads the input in one of several
// turns of its loop alone, as where it counts marks over windows, shows those turns by
// nothing else than what moves beside the input; bounds settle how many they are.
func UpdatePeriodWithin(in Excitation, frames []Answer, step float64, likely Interval) (Updates, error) {
	if err := usable(&in, frames, step); err != nil {
		return Updates{}, err
	}
	open := unclipped(frames, step)
	step = max(step, valueStep(open, step))
	m, err := newMapping(&in, open)
	if err != nil {
		return Updates{}, err
	}
	if len(unclipped(frames, step)) == 0 {
		return Updates{}, errCoarse
	}
	m.fitSlack(open)
	m.beside(open)
	if m.share != 0 {
		m.fitLag(open, m.lag)
		m.beside(open)
		m.fitLag(open, m.lag)
	}
	s := newSearch(m, frames, step)
	if _, _, uneven := s.uneven(); (uneven || likely.High < ShortestPeriod) && likely.High < sweptShare*s.frame {
		return s.stands(Updates{Readings: len(s.all)}), nil // nothing is waited for but the frames
	}
	if likely.High > ShortestPeriod {
		s.likely = likely
	} else {
		s.likely = Interval{0, math.Inf(1)}
	}
	peaks := s.searchAll()
	if len(peaks) == 0 {
		return Updates{}, errStill
	}
	// The mapping was fitted as if all frames had the same age. Now that the ages
	// are known, it is fitted again.
	if ages, ok := s.exact.ages(s.all, &peaks[0].hypothesis); ok {
		known := make([]Answer, len(s.all))
		for i := range s.all {
			known[i] = Answer{At: s.all[i].at, Value: s.all[i].value}
		}
		m.fit(known, func(i int) float64 { return ages[i] + m.behind })
		s.look(m, frames)
	}
	u := s.finish(peaks)
	u.Longest = s.longest(peaks[0].noise)
	if !u.Locked && u.Period < overStairs*s.staircase {
		s.markUnresolved(&u, spreadOut{period: u.Period, within: Interval{u.Period, u.Period}})
	}
	return u, nil
}

// usable returns what is wrong with what UpdatePeriod was given.
func usable(in *Excitation, frames []Answer, step float64) error {
	switch {
	case len(in.Values) < 10 || !(in.Step > 0) || !finite(in.Step) || !finite(in.Start):
		return errors.New("what was played is not known; record the input channel")
	case len(frames) < fewestFrames:
		return fmt.Errorf("%d frames are too few to find a loop in; observe for longer", len(frames))
	case !(step > 0) || !finite(step):
		return fmt.Errorf("a command step of %g is none; declare the output's resolution", step)
	}
	for _, v := range in.Values {
		if !finite(v) {
			return fmt.Errorf("what was played holds %g, no finite number", v)
		}
	}
	for i, f := range frames {
		if !finite(f.Value) || !(f.Uncertainty >= 0) || !finite(f.Uncertainty) || !finite(f.At) || i > 0 && !(f.At > frames[i-1].At) {
			return fmt.Errorf("frame %d at %g s, value %g ± %g, is out of order or no number", i, f.At, f.Value, f.Uncertainty)
		}
	}
	return nil
}

// fewestFrames is how many frames a loop is looked for in.
const fewestFrames = 50

// overStairs is how many stairs of the input a period has to last for it to be
// believed: a board that takes the mean over less sees the stairs.
const overStairs = 1.5

// spacing returns the time between frames in s: the mean of all that are near
// the median.
func spacing(frames []Answer) float64 {
	gaps := make([]float64, len(frames)-1)
	for i := range gaps {
		gaps[i] = frames[i+1].At - frames[i].At
	}
	slices.Sort(gaps)
	median := gaps[len(gaps)/2]
	sum, n := 0.0, 0.0
	for _, g := range gaps {
		if math.Abs(g-median) < 0.2*median {
			sum += g
			n++
		}
	}
	return sum / max(n, 1)
}

// finite says whether x is a number that can be worked with.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
