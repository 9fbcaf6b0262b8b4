package suites

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Rate is how often a board reads its inputs and how long it takes to answer
// one, measured for themselves: nothing is held against a policy.
type Rate struct {
	Loop     LoopRate
	Response Response
	Outputs  [4]OutputLine // in the order of plant.Wheels
	Skew     Skew
	Driving  signal.Time // played for it, without the board's power-up
	PowerUp  signal.Time // how long that took
	Tick     signal.Time // of the rig's loop while it was measured: at most 250 us
}

// Decided says whether loop rate and response were both found.
func (r *Rate) Decided() bool { return r.Loop.Why == "" && r.Response.Why == "" }

// LoopRate is how often the board reads its inputs.
type LoopRate struct {
	Rate   float64          // Hz
	Within measure.Interval // holds Rate with 99 % confidence
	Motor  plant.Wheel      // by whose frames
	Frames int              // how many of them it rests on
	// LeftOut is how many more of them came and were not used, for the rig played its own
	// wires late.
	LeftOut int
	Why     string // why it is not decided, and what to do about it; empty: it is. Rate may be there all the same
	Budget  Budget // of the loop's period, s
}

// HalfWidth returns half of the width of the interval that holds the rate, Hz.
func (l *LoopRate) HalfWidth() float64 { return (l.Within.High - l.Within.Low) / 2 }

// Period returns the time from one reading of the inputs to the next, s.
func (l *LoopRate) Period() float64 { return 1 / l.Rate }

// Response is how long the board takes from a change on the wire to the end of
// the first motor frame that answers it.
type Response struct {
	Channel    trace.Channel // what changed
	Trials     int
	LeftOut    int       // further trials that were not used, for the rig played its own wires late or may have missed the answer
	Unanswered int       // trials without an answer
	Times      []float64 // s, sorted, of those with one
	Quantiles  []Quantile
	Parts      []Part // what the median is made of, where it can be told; empty: it cannot
	Why        string // why it is not decided, and what to do about it; empty: it is
	Budget     Budget // of the median, s
}

// Quantile is how long it takes in that share of trials.
type Quantile struct {
	Share  float64          // 0.95
	Value  float64          // s
	Within measure.Interval // s, with 95 % confidence, by order statistics
}

// Part is one part of a response.
type Part struct {
	Name   string
	Median float64 // s
	Note   string
}

// OutputLine is what was seen on one motor line.
type OutputLine struct {
	Wheel   plant.Wheel
	Format  string         // as the bench declares it
	Frames  int            // with fewer than three nothing is known of Rate, Jitter and Length: see Timed
	Rate    float64        // frames a second, Hz
	Jitter  float64        // s, rms, of the time from frame to frame
	Length  float64        // s, mean of a frame
	Guesses []decode.Guess // what formats the line may carry, whatever is declared, the likeliest first
	Events  []SeenEvent    // what came beside frames, most often first
}

// Timed says whether frames enough came for Rate, Jitter and Length to be known.
func (o *OutputLine) Timed() bool { return o.Frames >= fewestTimed }

// fewestTimed is how many frames a line's rate is read from.
const fewestTimed = 3

// LeftOpen returns how many frames of the line the sampler left open.
func (o *OutputLine) LeftOpen() int {
	for _, e := range o.Events {
		if e.Kind == trace.Uncertain {
			return e.Count
		}
	}
	return 0
}

// SeenEvent is how often an event came.
type SeenEvent struct {
	Kind  trace.EventKind
	Count int
}

// Skew is how far apart the four lines' frames of one update begin.
type Skew struct {
	Median, Most float64 // s
	Updates      int     // with 0 the rest says nothing
}

// The shares of trials that quantiles are given for.
var quantileShares = [...]float64{0.5, 0.95, 0.99}

// rateName is what the plays of Rate go by where they draw.
const rateName = "rate"

// Ratable says whether the response can be timed on the bench. The error is of type
// [language.Problems]: what is changed for it goes out on a port that is not read back.
func (s *Setup) Ratable() error {
	_, channel, _ := s.rateChanges(false)
	if p, unread := s.Bench.Unread(channel); unread {
		return language.Problems{p}
	}
	return nil
}

// Rate measures the board's loop rate and response. It uses the setup's car,
// bench and board and none of its suites. Ticks of the bench that are longer than 250 us
// are shortened to that, so that their steps are none of a fast loop's. Its error is that of [Setup.Ratable] where
// that has one.
func (s *Setup) Rate(ctx context.Context) (*Rate, error) {
	if err := s.Ratable(); err != nil {
		return nil, err
	}
	fine := *s
	fine.wiring.Tick = min(rateTick, max(s.wiring.Tick, 1))
	s = &fine
	ear := newEar(s.wiring.Layout())
	ses, err := s.open(ctx, &file.Suite{Name: rateName}, s.board, ear.listen)
	defer ses.close()
	if err != nil {
		return nil, err
	}
	r := &Rate{PowerUp: ses.driven(), Tick: s.wiring.Tick}
	p := &rateRun{session: ses, draw: s.noise(rateName, "", "trials", 0)}
	for _, observe := range []signal.Time{loopObserve, 3 * loopObserve} {
		e, err := p.swing(ctx, observe)
		if err != nil {
			return nil, err
		}
		r.Loop = s.loopRateOf(e)
		r.Outputs, r.Skew = s.linesOf(e)
		ear.tell(&r.Outputs)
		if r.Loop.Why == "" || r.Loop.Rate > 0 {
			break // more of the same would not tell more
		}
	}
	if err := r.respond(ctx, p); err != nil {
		return nil, err
	}
	r.Driving = ses.driven() - r.PowerUp
	return r, nil
}

// respond plays the trials: as close on each other as loop and output suggest,
// and where answers are missing, farther apart.
func (r *Rate) respond(ctx context.Context, p *rateRun) error {
	loop, output := 10*signal.Millisecond, 10*signal.Millisecond
	if r.Loop.Rate > 0 {
		loop = min(signal.FromSeconds(1/r.Loop.Rate), 60*signal.Millisecond)
	}
	if o := &r.Outputs[0]; o.Rate > 0 {
		output = min(signal.FromSeconds(1/o.Rate), 60*signal.Millisecond)
	}
	apart := loop + output + 3*signal.Millisecond
	for range 3 {
		t, err := p.trials(ctx, apart, max(loop, output, 5*signal.Millisecond))
		if err != nil {
			return err
		}
		r.Response = p.session.setup.responseOf(t, r)
		switch {
		case len(t.movers) == 0 && t.mostlyLate():
			// the next may fare better
		case t.channel == trace.YawRate && len(t.movers) == 0:
			p.driver = true // a board that passes the throttle on, and no more
			if q, unread := p.session.setup.Bench.Unread(trace.Throttle); unread {
				r.Response.Why += ", and " + q.Message + "; " + q.Remedy
				return nil
			}
		case len(t.movers) == 0:
			return nil
		case r.Response.Unanswered > 0:
			apart *= 3
		case r.Response.Trials >= fewestRated || t.left == 0:
			return nil // else too many were left out, and the next may fare better
		}
	}
	return nil
}

// loopRateOf reads the loop rate from a swing of the speed.
func (s *Setup) loopRateOf(e *assertions.Evidence) LoopRate {
	step, _ := e.Step("")
	u, why := assertions.MeasureLoop(e, step)
	if why != "" {
		return LoopRate{Why: why, LeftOut: u.LeftOut}
	}
	r := LoopRate{
		Rate: 1 / u.Period, Within: measure.Interval{Low: 1 / u.Within.High, High: 1 / u.Within.Low},
		Motor: u.Motor, Frames: u.Readings, LeftOut: u.LeftOut,
	}
	switch {
	case len(u.Aliases) > 0:
		r.Why = "the frames are explained nearly as well by " + aliases(u.Aliases) + "; give the motor frames another rate or a finer step"
	case u.Locked:
		r.Why = fmt.Sprintf("the motor frames stand still against the loop: it runs at %.4g Hz or a multiple of it; give the motor frames another rate", r.Rate)
	case u.Unresolved:
		r.Why = fmt.Sprintf("the loop is faster than these frames can show, %.4g Hz at least; a finer command step would show it", r.Within.Low)
	default:
		r.Budget = loopBudget(e, step, &u, s.span(u.Motor))
	}
	return r
}

// aliases names other rates.
func aliases(peaks []measure.Peak) string {
	names := make([]string, len(peaks))
	for i, p := range peaks {
		names[i] = fmt.Sprintf("%.4g Hz", 1/p.Period)
	}
	return strings.Join(names, " and ")
}

// responseOf sums the trials up.
func (s *Setup) responseOf(t *trials, r *Rate) Response {
	out := Response{Channel: t.channel, Trials: len(t.times), LeftOut: t.left}
	for _, x := range t.times {
		if math.IsInf(x, 1) {
			out.Unanswered++
		} else {
			out.Times = append(out.Times, x)
		}
	}
	slices.Sort(out.Times)
	switch {
	case len(t.movers) == 0 && !t.mostlyLate():
		out.Why = fmt.Sprintf("no motor moves with %s", t.channel)
		return out
	case out.Trials < fewestRated && t.left > 0:
		out.Why = fmt.Sprintf("%d of %d changes of %s are of use, for in %d the rig played its own wires late or may have missed the answer; it takes %d: play it on a machine that keeps time",
			out.Trials, out.Trials+t.left, t.channel, t.left, fewestRated)
		return out
	case out.Trials < fewestRated:
		out.Why = fmt.Sprintf("only %d changes of %s came to its wire", out.Trials, t.channel)
		return out
	case t.uneven:
		out.Why = "the changes met the motor frames at some phases more than at others"
	case out.Unanswered > 0:
		out.Why = fmt.Sprintf("%d of %d changes of %s moved no motor before the next", out.Unanswered, out.Trials, t.channel)
	}
	for _, share := range quantileShares {
		q := measure.ResponseQuantile(t.times, share)
		out.Quantiles = append(out.Quantiles, Quantile{share, q.Quantile, q.Within})
	}
	if out.Why == "" {
		out.Parts = t.parts(r, out.Quantiles[0].Value)
		out.Budget = t.budget(&out, s.span(t.movers[0].wheel))
	}
	return out
}
