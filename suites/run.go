package suites

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"runtime"
	"strconv"
	"strings"
	"sync"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/suites/file"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// Options say how to run a setup. The zero value runs every case, one suite at
// a time.
type Options struct {
	Only     string         // plays the cases whose name, with its variant, contains this; empty: all
	Fresh    bool           // restarts the board before each case
	Workers  int            // suites side by side; below 1 means 1
	Progress func(Progress) // called once before anything is played, then with each case
	// Case is called with each case as it ends, in the order that they end in.
	// Suite and index are its place in the plan. Calls do not overlap.
	Case func(suite, index int, c record.Case)
	// Evidence is called with what a case was judged by, before Case is, and holds until it returns.
	// Suite and index are its place in the plan. Calls of different suites overlap.
	Evidence Watched
	// Wires is called, on a bench in real time, with what was on the wires around the
	// moments of a case's checks that failed or were left open, before Case is; and with
	// what was on them last of a case in which the run broke off. Calls do not overlap.
	Wires func(suite, index int, w *report.Wires)
	// Moments is called, on a bench in real time, where nothing can be played again, with what was about the moments of a
	// case's checks that failed or were left open, before Case is. Calls do not overlap.
	Moments func(suite, index int, all []record.Moment)
}

// Watched is called with what a case was judged by; suite and index are the case's place in the plan.
type Watched func(suite, index int, e *assertions.Evidence)

// Progress is how far a run has come. Calls do not overlap.
type Progress struct {
	Suite, Case string
	Done, Total int         // cases
	Driving     signal.Time // played so far, of all suites
	// Played and Left are how long the cases that ended and those to come take to play,
	// as estimated, of all suites; case runs that have to be repeated come on top.
	Played, Left signal.Time
	RealTime     bool // what is left takes no less time than that
}

// ErrNothingToRun says that no case was left to play.
var ErrNothingToRun = errors.New("no case to play")

// Planned returns how many cases of the setup Run would play with these options, the signs of
// life with them; 0 where it would play none but those.
func (s *Setup) Planned(o Options) int {
	signs, others := 0, 0
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			switch c := &suite.Cases[i]; {
			case !s.selects(&o, suite, c) || !s.allows(c):
			case suite == s.life:
				signs++
			default:
				others++
			}
		}
	}
	if others == 0 && s.shard.Of == 0 { // a part may be the signs of life alone
		return 0
	}
	return signs + others
}

// nothingToRun says why none of the cases can be played.
func (s *Setup) nothingToRun(o *Options) error {
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			c := &suite.Cases[i]
			switch {
			case suite == s.life || !o.selects(c):
			case !c.Asked():
				return fmt.Errorf("%w: nothing is asked (%q: %s); play others, or declare more in the car file", ErrNothingToRun, title(c), c.Expect[0].NotAsked)
			default:
				return fmt.Errorf("%w: all are left out (%q: %s); play others, or change the bench", ErrNothingToRun, title(c), s.skipReason(c))
			}
		}
	}
	if o.Only == "" {
		return fmt.Errorf("%w: the signs of life are played before every run, and say too little by themselves; name another suite, or none for all", ErrNothingToRun)
	}
	return fmt.Errorf("%w: no case's name contains %q; hilrig run without --only plays all", ErrNothingToRun, o.Only)
}

// selects says whether a case is played with these options; signs of life always are.
func (s *Setup) selects(o *Options, suite *file.Suite, c *file.Case) bool {
	return suite == s.life || s.elsewhere[suite.Source.Path] == 0 && o.selects(c)
}

func (o *Options) selects(c *file.Case) bool {
	return o.Only == "" || strings.Contains(strings.ToLower(title(c)), strings.ToLower(o.Only))
}

// allows says whether anything is asked of a case, and whether it may be played as the bench's
// motors are powered, and can be with its wires.
func (s *Setup) allows(c *file.Case) bool { return c.Asked() && s.skipReason(c) == "" }

// title is a case's name with its variant.
func title(c *file.Case) string {
	k := record.Case{Name: c.Name, Variant: c.Variant}
	return k.Title()
}

// Run plays the setup and returns the sealed result and how long it drove in
// all, in virtual time. When ctx is done it ends after the tick in progress;
// cases not judged by then stand as not run, and the error is ctx's.
func (s *Setup) Run(ctx context.Context, o Options) (*record.Result, signal.Time, error) {
	r := &run{setup: s, options: o, total: s.Planned(o)}
	if o.Fresh && s.real != nil && !s.real.Restarts {
		return nil, 0, fmt.Errorf("a fresh board before every case: %w; leave it out", rig.ErrNotPossible)
	}
	if r.total == 0 {
		return nil, 0, s.nothingToRun(&o)
	}
	r.result = s.Plan()
	r.result.Fresh = o.Fresh
	r.estimateDuration()
	if s.real != nil {
		o.Workers = 1
	}
	limit := make(chan struct{}, max(1, o.Workers))
	var wait sync.WaitGroup
	failures := make([]error, len(s.Suites))
	before := r.measureCurve(ctx, failures)
	for i := range s.Suites {
		if i == before || r.leave(i) {
			continue
		}
		limit <- struct{}{}
		wait.Go(func() {
			failures[i] = r.suite(ctx, i)
			if s.real != nil {
				runtime.GC() // nothing is played now; while something is, garbage is left lying
			}
			<-limit
		})
	}
	wait.Wait()
	r.setup.noteAsked(r.result)
	r.result.Seal()
	return r.result, r.driving, errors.Join(failures...)
}

// run is one run under way.
type run struct {
	setup   *Setup
	options Options
	total   int
	result  *record.Result
	lengths [][]signal.Time // by suite and case, as estimated
	curve   *law.Curve      // that the signs of life measured; nil: they did not

	mu      sync.Mutex // of what follows, and of the callbacks
	done    int
	driving signal.Time
	played  signal.Time // of the cases that ended, as estimated
	left    signal.Time
}

// estimateDuration works out how long everything takes to play, if somebody wants to know, and
// tells it. The power-up of a suite counts with its first case.
func (r *run) estimateDuration() {
	if r.options.Progress == nil {
		return
	}
	for _, suite := range r.setup.Suites {
		all := r.setup.lengths(suite, r.options)
		first := true
		for i := range all {
			if first && all[i] > 0 {
				all[i] += r.setup.powerUpLength()
				first = false
			}
			r.left += all[i]
		}
		r.lengths = append(r.lengths, all)
	}
	r.options.Progress(Progress{Total: r.total, Left: r.left, RealTime: r.setup.real != nil})
}

// seed draws a seed from the run's and a name.
func (s *Setup) seed(names ...string) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d", s.Seed)
	for _, n := range names {
		fmt.Fprintf(h, "\x00%s", n)
	}
	return h.Sum64()
}

// noise returns what draws the moments of one run of one case.
func (s *Setup) noise(suite, title, what string, repeat int) portable.Noise {
	return portable.NewNoise(s.seed(suite, title, what), strconv.Itoa(repeat))
}

// suite plays one suite.
func (r *run) suite(ctx context.Context, index int) error {
	suite := r.setup.Suites[index]
	out := r.result.Suites[index].Cases
	wires := r.newRecorder()
	ses, err := r.setup.open(ctx, suite, r.setup.board, wires.tap())
	brokeOff, at := -1, signal.Time(0) // the first case that was not played to its end, and when
	defer func() {
		ses.close() // first: the bench is to be safe
		if brokeOff >= 0 {
			wires.hold(ses.decodedUntil())
			r.reportWires(index, brokeOff, wires, []signal.Time{at})
		}
	}()
	for i := range suite.Cases {
		c := &suite.Cases[i]
		if !r.setup.selects(&r.options, suite, c) {
			out[i].Verdict, out[i].Why = record.Skipped, record.LeftByOnly
			continue
		}
		if why := r.setup.lifeUnplayed(suite, c); why != "" {
			out[i].Why = why // it stays as not run, which is not GO
			continue
		}
		if why := r.setup.skipReason(c); why != "" {
			out[i].Verdict, out[i].Why = record.Skipped, why
			continue
		}
		if !c.Asked() {
			judge(suite, c, nil, &out[i])
			continue
		}
		if err == nil {
			wires.begin(ses.rig.Now())
			err = ses.runCase(ctx, c, r.options.Fresh, &out[i])
		}
		if out[i].Trace == "" {
			out[i].Why = endedBefore(err)
			if brokeOff < 0 && ses.rig != nil {
				brokeOff, at = i, ses.rig.Now()
			}
			continue
		}
		if measuresCurve(c) {
			r.curve, _ = assertions.MeasureCurve(ses.judged)
		}
		driven := ses.driven()
		wires.hold(ses.decodedUntil())
		err = errors.Join(err, ses.meanwhile(ctx, func() {
			if r.options.Evidence != nil {
				r.options.Evidence(index, i, ses.judged)
			}
			r.reportMoments(index, i, ses.judged)
			r.reportWires(index, i, wires, momentsOf(&out[i]))
			r.report(index, i, driven)
		}))
	}
	r.result.Suites[index].Timing = ses.timing(out)
	r.mu.Lock()
	r.driving += ses.driven()
	r.mu.Unlock()
	return err
}

// newRecorder returns what records the wires of a suite; nil where the run records none.
func (r *run) newRecorder() *edgeRecorder {
	if r.setup.real == nil || r.options.Wires == nil {
		return nil
	}
	return newEdgeRecorder(r.setup.wiring.Layout(), mostRecorded)
}

// reportWires reports what of a case's wires is recorded.
func (r *run) reportWires(suite, index int, k *edgeRecorder, moments []signal.Time) {
	if k == nil {
		return
	}
	if w := k.wires(moments); w != nil {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.options.Wires(suite, index, w)
	}
}

// reportMoments reports what was about the moments of a case that was judged in real time, where it has any.
func (r *run) reportMoments(suite, index int, e *assertions.Evidence) {
	if r.setup.real == nil || r.options.Moments == nil {
		return
	}
	if all, known := report.MomentsOf(e, &r.result.Suites[suite].Cases[index]); known {
		r.mu.Lock()
		defer r.mu.Unlock()
		r.options.Moments(suite, index, all)
	}
}

// endedBefore says why a case was not played.
func endedBefore(err error) string {
	if errors.Is(err, context.Canceled) {
		return record.Stopped
	}
	return "the run ended before: " + err.Error()
}

// report tells of a case that was judged.
func (r *run) report(suite, index int, now signal.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.done++
	if r.options.Case != nil {
		r.options.Case(suite, index, r.result.Suites[suite].Cases[index])
	}
	if r.options.Progress == nil {
		return
	}
	length := r.lengths[suite][index]
	r.played, r.left = r.played+length, r.left-length
	s := r.setup.Suites[suite]
	r.options.Progress(Progress{
		Suite: s.Name, Case: title(&s.Cases[index]), Done: r.done, Total: r.total, Driving: r.driving + now,
		Played: r.played, Left: r.left, RealTime: r.setup.real != nil,
	})
}
