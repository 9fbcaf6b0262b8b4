package suites

import (
	"context"
	"fmt"
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
	"hilrig/suites/record"
)

// Rate is how often a board reads its inputs and how long it takes to answer
// one.
type Rate struct {
	Loop     LoopRate
	Response Response
	Held     []record.Check // both against the car's policy, by its keys loop_rate and response; empty before Hold
	Outputs  [4]OutputLine  // in the order of plant.Wheels
	Skew     Skew
	Driving  signal.Time // played for it, without the board's power-up
	PowerUp  signal.Time // how long that took
	Tick     signal.Time // of the rig's loop while it was measured: at most 250 us

	setup         *Setup
	loop, answers *assertions.Evidence // what both were measured by
	trials        *trials              // the last of them
}

// Decided says whether loop rate and response were both found.
func (r *Rate) Decided() bool { return r.Loop.Why == "" && r.Response.Why == "" }

// LoopRate is how often the board reads its inputs.
type LoopRate struct {
	Rate   float64          // Hz
	Within measure.Interval // holds Rate with 99 % confidence
	Motor  plant.Wheel      // by whose frames
	Frames int              // how many of them it rests on
	// Answers says that it rests on the answers to the changes of the response, one after the
	// other, which tell the loop's turns better than the frames of the excitation do.
	Answers bool
	From    signal.Time // the stretch of the bench's time that it was found in
	To      signal.Time
	// Longest is the longest time from reading to reading that was seen, s, at least and at
	// most: of one turn that came late it says more than the mean does. It is empty where the
	// frames show none.
	Longest measure.Interval
	// EachTurn says that every frame shows the loop at the same point and the response has each turn
	// send one: a loop that turns several times for each frame, by the clock that sends it, would look
	// the same where it hands a frame on at once.
	EachTurn bool
	locked   bool // every frame shows the loop at the same point
	paced    bool // each frame is sent by a turn of the loop
	slips    bool // readings come after now more, now fewer turns
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

// Response is how long the motors take from a change on the wire to the end of
// the first frame that answers it.
type Response struct {
	Channel trace.Channel   // what changed
	Changes int             // that came to the wire
	LeftOut int             // of them, for one motor at least: the rig played its own wires late or may have missed the answer
	Motors  []MotorResponse // those that move, in the order of plant.Wheels; empty: none does, or too few trials were of use
	Still   []plant.Wheel   // motors that the policy's shift moves, and that did not move
	Apart   signal.Time     // how far the changes stand apart at least
	Slowest int             // the motor with the longest median, an index of Motors
	Parts   []Part          // what its median is made of, where it can be told; empty: it cannot
	Why     string          // why it is not decided, and what to do about it; empty: it is
	Budget  Budget          // of its median, s
}

// MotorResponse is how long one motor takes.
type MotorResponse struct {
	Wheel      plant.Wheel
	Trials     int
	LeftOut    int       // further trials that were not used
	Unanswered int       // trials without an answer
	Times      []float64 // s, sorted, of those with one
	Quantiles  []Quantile
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
func (s *Setup) Rate(ctx context.Context) (*Rate, error) { return s.RateSaying(ctx, func(string) {}) }

// RateSaying measures them and says in a few words, before each thing that takes long, what is played and for how long.
func (s *Setup) RateSaying(ctx context.Context, say func(words string)) (*Rate, error) {
	if err := s.Ratable(); err != nil {
		return nil, err
	}
	say("the board powers up")
	fine := *s
	fine.wiring.Tick = min(rateTick, max(s.wiring.Tick, 1))
	s = &fine
	probe := newLineProbe(s.wiring.Layout())
	ses, err := s.open(ctx, &file.Suite{Name: rateName}, s.board, probe.record)
	defer ses.close()
	if err != nil {
		return nil, err
	}
	r := &Rate{PowerUp: ses.driven(), Tick: s.wiring.Tick, setup: s}
	p := &rateRun{session: ses, draw: s.noise(rateName, "", "trials", 0), say: say}
	for _, observe := range []signal.Time{loopObserve, longObserve} {
		e, err := p.excite(ctx, observe)
		if err != nil {
			return nil, err
		}
		r.loop, r.Loop = e, s.loopRateOf(e)
		r.Outputs, r.Skew = s.linesOf(e)
		probe.formats(&r.Outputs)
		if r.Loop.Why == "" || r.Loop.Rate > 0 {
			break // more of the same would not tell more
		}
	}
	if err := r.respond(ctx, p); err != nil {
		return nil, err
	}
	if err := r.settle(ctx, p, r.trials); err != nil {
		return nil, err
	}
	r.Driving = ses.driven() - r.PowerUp
	return r, nil
}

// respond plays the trials: as close on each other as the answers to them end, and where
// some are missing or run into the next, farther apart.
func (r *Rate) respond(ctx context.Context, p *rateRun) error {
	loop, output := 10*signal.Millisecond, 10*signal.Millisecond
	if r.Loop.Rate > 0 {
		loop = min(signal.FromSeconds(1/r.Loop.Rate), 60*signal.Millisecond)
	}
	if o := r.slowestOutput(); o > 0 {
		output = min(signal.FromSeconds(1/o), 60*signal.Millisecond)
	}
	apart := signal.Time(0)
	for range 3 {
		if apart == 0 {
			ends, err := p.answersEnd(ctx)
			if err != nil {
				return err
			}
			apart = loop + restedFrames*output + ends + ends/4 + 3*signal.Millisecond
		}
		t, err := p.trials(ctx, apart, p.spread(loop, output))
		if err != nil {
			return err
		}
		r.answers, r.trials = t.e, t
		r.Response = p.session.setup.responseOf(t, r)
		r.Response.Apart = apart
		switch {
		case t.still() && t.mostlyLate():
			// the next may fare better
		case t.channel == trace.YawRate && t.still():
			p.driver, apart = true, 0 // a board that passes the throttle on, and no more
			if q, unread := p.session.setup.Bench.Unread(trace.Throttle); unread {
				r.Response.Why += ", and " + q.Message + "; " + q.Remedy
				return nil
			}
		case t.still():
			return nil
		case r.Response.unanswered() || t.found.NotEnded:
			apart *= 3
		case t.found.Changes-t.found.LeftOut >= fewestRated || t.found.LeftOut == 0:
			return nil // else too many were left out, and the next may fare better
		}
	}
	return nil
}

// restedFrames is how many frames have to come from each motor once it is at rest, so that
// it is known where it stands.
const restedFrames = 7

// slowestOutput returns the rate of the motor line with the fewest frames a second, Hz; 0 where
// none was timed.
func (r *Rate) slowestOutput() float64 {
	slowest := 0.0
	for i := range r.Outputs {
		if o := &r.Outputs[i]; o.Timed() && (slowest == 0 || o.Rate < slowest) {
			slowest = o.Rate
		}
	}
	return slowest
}

// unanswered says whether a motor left changes unanswered.
func (r *Response) unanswered() bool {
	return slices.ContainsFunc(r.Motors, func(m MotorResponse) bool { return m.Unanswered > 0 })
}

// loopRateOf reads the loop rate from an excitation by the speed.
func (s *Setup) loopRateOf(e *assertions.Evidence) LoopRate {
	step, _ := e.Step("")
	u, why := assertions.MeasureLoop(e, step)
	if why != "" {
		return LoopRate{Why: why, LeftOut: u.LeftOut, From: step.From, To: step.To}
	}
	r := LoopRate{
		Rate: 1 / u.Period, Within: measure.Interval{Low: 1 / u.Within.High, High: 1 / u.Within.Low},
		Motor: u.Motor, Frames: u.Readings, LeftOut: u.LeftOut, From: step.From, To: step.To, Longest: u.Longest, paced: u.Paced, slips: u.Slips,
	}
	switch {
	case len(u.Aliases) > 0:
		r.Why = "the frames are explained nearly as well by " + aliases(u.Aliases) + "; give the motor frames a finer step"
	case u.Locked:
		r.Why = u.StandsStill() + "; the response does not settle it: let the frames go out at another rate for a trial, which is no whole part of the loop's"
		r.locked, r.Budget = true, loopBudget(e, step, &u, s.span(u.Motor))
	case u.Unresolved:
		r.Why = fmt.Sprintf("these frames do not show the loop's turns; that they bring new values shows %.4g Hz at least: make the motor's command step finer, or have less noise", r.Within.Low)
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
	out := Response{Channel: t.channel, Changes: t.found.Changes, LeftOut: t.found.LeftOut, Still: t.found.Still, Why: t.why}
	kept := out.Changes - out.LeftOut
	switch {
	case t.still() && !t.mostlyLate() && (t.why == "" || kept < fewestRated):
		out.Why = fmt.Sprintf("no motor moves with %s", t.channel)
		return out
	case kept < fewestRated && out.LeftOut > 0:
		out.Why = fmt.Sprintf("%d of %d changes of %s are of use, for in %d the rig played its own wires late or may have missed the answer; it takes %d: play it on a machine that keeps time",
			kept, out.Changes, t.channel, out.LeftOut, fewestRated)
		return out
	case kept < fewestRated:
		out.Why = fmt.Sprintf("only %d changes of %s came to its wire", out.Changes, t.channel)
		return out
	}
	out.Motors = t.motorsOf()
	for i := range out.Motors {
		m := &out.Motors[i]
		if m.Unanswered > 0 && out.Why == "" {
			out.Why = fmt.Sprintf("%d of %d changes of %s did not move %s before the next", m.Unanswered, m.Trials, t.channel, m.Wheel)
		}
		if m.Quantiles[0].Value > out.Motors[out.Slowest].Quantiles[0].Value {
			out.Slowest = i
		}
	}
	if out.Why == "" && len(out.Motors) > 0 {
		slowest := &out.Motors[out.Slowest]
		out.Parts = t.parts(out.Slowest, r, slowest.Quantiles[0].Value)
		out.Budget = t.budget(slowest.Wheel, slowest.Quantiles[0], s.span(slowest.Wheel))
	}
	return out
}
