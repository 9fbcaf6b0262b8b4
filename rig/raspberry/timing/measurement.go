// Package timing measures how well a machine keeps time as it plays edges, and says what
// follows for motor commands and encoders.
//
// A [Measurement] plays the edges of turning wheels ([Wheels]), or others, on a bench, and counts
// what was late. Packages registers and chardev each measure what they alone can: how often a
// bank is read, and how well the kernel stamps.
package timing

import (
	"context"
	"errors"
	"fmt"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Measurement is how well a machine kept time.
type Measurement struct {
	Denied []string           // what the edge output's scheduling lacked, each with the remedy
	For    signal.Time        // how long it was measured
	Late   realtime.Histogram // of edges, after the time that they were planned for
	Ticks  realtime.Histogram // of a tick's work, after the tick's time

	Planned uint64 // edges
	Played  uint64 // of Planned
	Skipped uint64 // of Planned: the edge output was further behind than [GivesUp]
}

// Tick is how long the edges are that are handed over at once, as in a run.
const Tick = signal.Millisecond

// GivesUp is how far behind its plan a trial leaves out a tick's edges.
const GivesUp = 200 * signal.Millisecond

// Edges is what a trial plays.
type Edges interface {
	// Begin has the edges begin at t.
	Begin(t signal.Time)
	// Until appends the edges before t, in order of time.
	Until(dst []signal.Edge, t signal.Time) []signal.Edge
	// Undo undoes the last Until, which appended edges: they are not played.
	Undo(edges []signal.Edge)
}

// Check refuses a trial of edges a second, at most most, for a length.
func Check(edges, most float64, length signal.Time) error {
	if !(edges >= 0 && edges <= most) || length <= 0 {
		return fmt.Errorf("timing: %g edges a second for %v; ask for 0 to %.0f, for more than 0 s", edges, length, most)
	}
	return nil
}

// Play plays edges on a bench until length is over or ctx is done, whichever is first, and
// notes how that went, but for Late and Played, which the bench counts. The edges of one tick
// are handed over during the tick before. Take takes what the bench tells, after each tick.
// Progress is called now and then with how much of length has passed; nil disables it.
func (k *Measurement) Play(ctx context.Context, bench *hostlines.Bench, source Edges, length signal.Time, count func() error, progress func(done signal.Time)) error {
	began := bench.Present()/Tick*Tick + 2*Tick
	source.Begin(began)
	end := began + (length+Tick-1)/Tick*Tick
	var edges []signal.Edge
	for now := began - Tick; now < end; now += Tick {
		if ctx.Err() != nil {
			end = now + Tick
		}
		if now >= began {
			k.Ticks.Add(bench.Present() - now)
		}
		if next := now + Tick; next < end {
			edges = source.Until(edges[:0], next+Tick)
			if err := k.hand(bench, source, edges, next); err != nil {
				return err
			}
		}
		if err := errors.Join(bench.Wait(now+Tick), count()); err != nil {
			return err
		}
		if progress != nil && now >= began && (now-began)%(100*Tick) == 0 {
			progress(now - began)
		}
	}
	k.For = bench.Present() - began
	return nil
}

// hand hands over the edges of the tick that begins at from.
func (k *Measurement) hand(bench *hostlines.Bench, source Edges, edges []signal.Edge, from signal.Time) error {
	k.Planned += uint64(len(edges))
	if bench.Present()-from > GivesUp || !bench.Room(len(edges)) {
		source.Undo(edges)
		k.Skipped += uint64(len(edges))
		return nil
	}
	return bench.Drive(edges, from+Tick-1)
}

// EncoderSupport says what wheel encoders can be played.
type EncoderSupport struct {
	Edges float64 // of four wheels together, per second, at most
	Lines int     // of each encoder, at 90 turns a second, four edges a line, at most
	Why   string  // what limits it
}

// fastest is how fast a wheel turns at most, in turns a second: 90 is 17 m/s on a
// wheel of 60 mm.
const fastest = 90

// Limit is a rate that something keeps edges below, per second.
type Limit struct {
	Rate float64
	Why  string
}

// Raise has the support go as far as a limit.
func (e *EncoderSupport) Raise(to Limit) {
	e.Edges, e.Why = to.Rate, to.Why
	e.Lines = int(e.Edges / (4 * 4 * fastest))
}

// Fastest says what four wheel encoders the machine can play: the highest rate, no
// higher than was tried and than the limits that are given, at which every edge is put out,
// all but one in a hundred no later than half the way to the wheel's next.
func (k *Measurement) Fastest(limits ...Limit) (f EncoderSupport) {
	if k.Played == 0 || k.For <= 0 {
		return EncoderSupport{Why: "no edges were played"}
	}
	late := k.Late.Quantile(0.99)
	f.Raise(Limit{float64(k.Planned) / k.For.Seconds(), "as far as it was tried"})
	for _, l := range append([]Limit{
		{float64(k.Played) / k.For.Seconds(), fmt.Sprintf("%d edges were skipped", k.Skipped)},
		{2 / max(late, 1).Seconds(), fmt.Sprintf("one edge in a hundred is later than %s", late.Short())},
	}, limits...) {
		if l.Rate < f.Edges {
			f.Raise(l)
		}
	}
	return f
}
