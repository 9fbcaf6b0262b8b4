package suites

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/fnv"
	"strings"
	"sync"

	"hilrig/assertions"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// Options say how to run a setup. The zero value runs every case, one suite at
// a time.
type Options struct {
	Only     string // plays the cases whose name, with its variant, contains this; empty: all
	Fresh    bool   // restarts the board before each case
	Workers  int    // suites side by side; below 1 means 1
	Progress func(Progress)
	// Case is called with each case as it ends, in the order that they end in.
	// Suite and index are its place in the plan. Calls do not overlap.
	Case func(suite, index int, c record.Case)
}

// Progress is how far a run has come. Calls do not overlap.
type Progress struct {
	Suite, Case string
	Done, Total int         // cases
	Driving     signal.Time // played so far, of all suites
}

// ErrNothingToRun says that no case was left to play.
var ErrNothingToRun = errors.New("no case to play")

// Planned returns how many cases of the setup Run would play with these options.
func (s *Setup) Planned(o Options) int {
	n := 0
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			if o.plays(&suite.Cases[i]) {
				n++
			}
		}
	}
	return n
}

func (o *Options) plays(c *file.Case) bool {
	return o.Only == "" || strings.Contains(strings.ToLower(title(c)), strings.ToLower(o.Only))
}

// title is a case's name with its variant.
func title(c *file.Case) string {
	if c.Variant == "" {
		return c.Name
	}
	return c.Name + " (" + c.Variant + ")"
}

// Run plays the setup and returns the sealed result and how long it drove in
// all, in virtual time. When ctx is done it ends after the tick in progress;
// cases not judged by then stand as not run, and the error is ctx's.
func (s *Setup) Run(ctx context.Context, o Options) (*record.Result, signal.Time, error) {
	r := &run{setup: s, options: o, total: s.Planned(o)}
	if r.total == 0 {
		return nil, 0, fmt.Errorf("%w: no case's name contains %q; hilrig run without --only plays all", ErrNothingToRun, o.Only)
	}
	r.result = s.Plan()
	limit := make(chan struct{}, max(1, o.Workers))
	var wait sync.WaitGroup
	failures := make([]error, len(s.Suites))
	for i := range s.Suites {
		limit <- struct{}{}
		wait.Go(func() {
			failures[i] = r.suite(ctx, i)
			<-limit
		})
	}
	wait.Wait()
	r.result.Seal()
	return r.result, r.driving, errors.Join(failures...)
}

// run is one run under way.
type run struct {
	setup   *Setup
	options Options
	total   int
	result  *record.Result

	mu      sync.Mutex // of what follows, and of the callbacks
	done    int
	driving signal.Time
}

// lane is one suite on its bench.
type lane struct {
	setup *Setup
	suite *file.Suite
	rig   *rig.Rig
	bench *simulated.Bench
	rest  stimulus.Values
	trace trace.Trace
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

// open makes a bench with a board on it, powered up and at rest.
func (s *Setup) open(ctx context.Context, suite *file.Suite) (*lane, error) {
	l := &lane{setup: s, suite: suite}
	between := &s.Bench.Board.BetweenCases
	l.rest = stimulus.Values{Throttle: between.Throttle, Steer: between.Steer, YawRate: between.YawRate}
	layout := s.wiring.Layout()
	b, err := board.NewBuiltIn(s.settings, layout, s.seed(suite.Name, "board"))
	if err != nil {
		return nil, err
	}
	if l.bench, err = simulated.New(simulated.Settings{Layout: layout, Board: b}); err != nil {
		return nil, err
	}
	l.rig, err = rig.New(l.bench, rig.Settings{Wiring: s.wiring, Car: s.Car.Car, Seed: s.seed(suite.Name, "rig")})
	if err != nil {
		return nil, errors.Join(err, l.bench.Close())
	}
	return l, l.rig.Rest(ctx, l.rest, s.Bench.Board.ReadyAfter, 0)
}

// suite plays one suite.
func (r *run) suite(ctx context.Context, index int) error {
	suite := r.setup.Suites[index]
	out := r.result.Suites[index].Cases
	l, err := r.setup.open(ctx, suite)
	if l != nil && l.bench != nil {
		defer l.bench.Close()
	}
	for i := range suite.Cases {
		c := &suite.Cases[i]
		if !r.options.plays(c) {
			out[i].Why = "left out by --only"
			continue
		}
		if err == nil {
			err = l.play(ctx, c, r.options.Fresh, &out[i])
		}
		if err != nil {
			out[i].Why = "the run ended before: " + err.Error()
			continue
		}
		r.report(index, i, l.rig.Now())
	}
	if l != nil && l.rig != nil {
		r.mu.Lock()
		r.driving += l.rig.Now()
		r.mu.Unlock()
	}
	return err
}

// report tells of a case that was judged.
func (r *run) report(suite, index int, now signal.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.done++
	if r.options.Case != nil {
		r.options.Case(suite, index, r.result.Suites[suite].Cases[index])
	}
	if r.options.Progress != nil {
		s := r.setup.Suites[suite]
		r.options.Progress(Progress{Suite: s.Name, Case: title(&s.Cases[index]), Done: r.done, Total: r.total, Driving: r.driving + now})
	}
}

// restSpread is how far the rest before a case is stretched, evenly drawn, so
// that cases meet board and sensors at every phase.
const restSpread = 50 * signal.Millisecond

// play plays one case and judges it into out.
func (l *lane) play(ctx context.Context, c *file.Case, fresh bool, out *record.Case) error {
	if fresh {
		if err := l.rig.Restart(); err != nil {
			return err
		}
		if err := l.rig.Rest(ctx, l.rest, l.setup.Bench.Board.ReadyAfter, 0); err != nil {
			return err
		}
	}
	if err := l.rig.Rest(ctx, l.rest, l.setup.rest(), restSpread); err != nil {
		return err
	}
	evidence, length, err := l.drive(ctx, c)
	if err != nil {
		return err
	}
	out.StartNS = int64(l.trace.Start)
	out.LengthNS = int64(length)
	sum := sha256.New()
	l.trace.Hash(sum)
	out.Trace = hex.EncodeToString(sum.Sum(nil))
	judge(l.suite, c, evidence, out)
	return nil
}

// drive plays a case's program and returns what there is to judge it by, which
// holds until the next call, and how long it was.
func (l *lane) drive(ctx context.Context, c *file.Case) (*assertions.Evidence, signal.Time, error) {
	program, steps := programOf(c, l.rest)
	if err := l.rig.Play(ctx, program, &l.trace); err != nil {
		return nil, 0, err
	}
	for i := range steps {
		steps[i].Applied += l.trace.Start
		steps[i].From += l.trace.Start
		steps[i].To += l.trace.Start
	}
	return l.evidence(steps), program.Length, nil
}

func (l *lane) evidence(steps []assertions.Step) *assertions.Evidence {
	e := &assertions.Evidence{Trace: &l.trace, Policy: &l.setup.Car.Policy, Steps: steps}
	for _, m := range l.setup.wiring.Motors {
		e.CommandStep = max(e.CommandStep, m.CommandStep())
		if m.WithNeutral {
			e.Lowest = -1
		}
	}
	return e
}
