package registers

import (
	"context"
	"fmt"
	"math/bits"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// TimingTrial plays the edges of four turning wheels into a bank while it samples, as
// a bench does, and tells how well the machine keeps time.
type TimingTrial struct {
	Bank       Bank // a [Memory], or one whose pins are left alone: see [LeaveAlone]
	Scheduling realtime.Scheduling
	Time       *Turns      // see [Settings]
	For        signal.Time // how long to measure, above 0
	Edges      float64     // edges a second of all eight lines together, 0 to MostEdges
	// Progress is called now and then with how much of For has passed; nil disables it.
	Progress func(done signal.Time)
}

// MostEdges is the highest rate of edges that a trial plays, per second.
const MostEdges = 20e6

// Kept is how well a machine kept time.
type Kept struct {
	Refused []string           // what the loop's scheduling lacked, each with the remedy
	For     signal.Time        // how long it was measured
	Reads   uint64             // of the whole bank
	Gaps    realtime.Histogram // from the end of one read to the end of the next
	Late    realtime.Histogram // of edges, after the time that they were planned for
	Ticks   realtime.Histogram // of a tick's work, after the tick's time

	Planned uint64 // edges
	Played  uint64 // of Planned
	Skipped uint64 // of Planned: the player was further behind than [GivesUp]
	// Of the played edges, Back are on lines with a wire back, in a Memory; Lost of
	// them were not sampled.
	Back, Lost uint64
}

// Tick is how long the edges are that are handed over at once, as in a run.
const Tick = signal.Millisecond

// GivesUp is how far behind its plan a trial leaves out a tick's edges.
const GivesUp = 200 * signal.Millisecond

// leftAlone is a bank whose lines are read, and written without a change.
type leftAlone struct{ bank Bank }

// LeaveAlone returns a bank that reads as bank does and that writes empty masks: each
// write takes its time and changes no pin.
func LeaveAlone(bank Bank) Bank { return leftAlone{bank} }

//go:nosplit
func (l leftAlone) Set(uint32) { l.bank.Set(0) }

//go:nosplit
func (l leftAlone) Clear(uint32) { l.bank.Clear(0) }

//go:nosplit
func (l leftAlone) Level() uint32 { return l.bank.Level() }

// Run measures until For is over or ctx is done, whichever is first: what there is by
// then is returned.
func (t TimingTrial) Run(ctx context.Context) (*Kept, error) {
	if !(t.Edges >= 0 && t.Edges <= MostEdges) || t.For <= 0 {
		return nil, fmt.Errorf("timing: %g edges a second for %v; ask for 0 to %g, for more than 0 s", t.Edges, t.For, float64(MostEdges))
	}
	w := NewWheels(t.Edges)
	layout, pins := w.Layout(t.Bank)
	b, err := New(Settings{Layout: layout, Bank: t.Bank, Pins: pins, Scheduling: t.Scheduling, Time: t.Time})
	if err != nil {
		return nil, err
	}
	p := timingPlay{bench: b, wheels: w, kept: &Kept{Refused: b.Refused()}}
	err = p.play(ctx, t)
	p.measure()
	if closing := b.Close(); err == nil {
		err = closing
	}
	return p.kept, err
}

// timingPlay is a trial under way.
type timingPlay struct {
	bench  *Bench
	wheels *Wheels
	kept   *Kept
	edges  []signal.Edge
	taken  []signal.Edge
	level  uint32 // of the lines that come back, as sampled, by line
}

// play hands over the edges of one tick during the tick before.
func (p *timingPlay) play(ctx context.Context, t TimingTrial) error {
	b := p.bench
	began := b.clock.now()/Tick*Tick + 2*Tick
	p.wheels.Begin(began)
	end := began + (t.For+Tick-1)/Tick*Tick
	for now := began - Tick; now < end; now += Tick {
		if ctx.Err() != nil {
			end = now + Tick
		}
		if now >= began {
			p.kept.Ticks.Add(b.clock.now() - now)
		}
		if next := now + Tick; next < end {
			if err := p.hand(next); err != nil {
				return err
			}
		}
		if err := b.Wait(now + Tick); err != nil {
			return err
		}
		p.take()
		if t.Progress != nil && now >= began && now%(100*Tick) == 0 {
			t.Progress(now - began)
		}
	}
	p.kept.For = b.clock.now() - began
	return nil
}

// hand hands over the edges of the tick that begins at from.
func (p *timingPlay) hand(from signal.Time) error {
	behind := p.bench.clock.now() - from
	edges := p.wheels.Until(p.edges[:0], from+Tick)
	p.edges = edges
	p.kept.Planned += uint64(len(edges))
	if behind > GivesUp || !p.bench.drive.Room(len(edges)) {
		p.wheels.TakeBack(edges)
		p.kept.Skipped += uint64(len(edges))
		return nil
	}
	return p.bench.Drive(edges, from+Tick-1)
}

// take counts the edges that came back. A gap repeats the level that its line has.
func (p *timingPlay) take() {
	p.taken = p.bench.loop.sampler.take(p.taken[:0], p.bench.Now())
	for _, e := range p.taken {
		bit := uint32(1) << (e.Line & 31)
		if e.Level != (p.level&bit != 0) {
			p.level ^= bit
			p.kept.Back++
		}
	}
}

// measure reads what the loop has counted.
func (p *timingPlay) measure() {
	k, b := p.kept, p.bench
	p.take()
	timing := b.Timing()
	k.Gaps, k.Late, k.Reads, k.Played = timing.Gaps, timing.Late, timing.Gaps.Count, timing.Late.Count
	sampled := k.Back
	k.Back = p.wheels.back
	k.Lost = k.Back - min(sampled, k.Back)
	if bits.OnesCount32(b.loop.sampler.mask) == 0 {
		k.Back, k.Lost = 0, 0
	}
}
