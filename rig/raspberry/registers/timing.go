package registers

import (
	"context"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// TimingTrial plays the edges of four turning wheels into a bank while it samples, as
// a bench does, and tells how well the machine keeps time.
type TimingTrial struct {
	PinBank    PinBank // a [Memory], or one whose pins are left alone: see [LeaveAlone]
	Scheduling realtime.Scheduling
	Time       *Turns      // see [Settings]
	For        signal.Time // how long to measure, above 0
	Edges      float64     // edges a second of all eight lines together, 0 to MostEdges
	// Progress is called now and then with how much of For has passed; nil disables it.
	Progress func(done signal.Time)
}

// MostEdges is the highest rate of edges that a trial plays, per second.
const MostEdges = 20e6

// Measurement is how well a machine kept time.
type Measurement struct {
	timing.Measurement
	Reads uint64             // of the whole bank
	Gaps  realtime.Histogram // from the end of one read to the end of the next
	// Stamps are how uncertain the stamp of an edge would have been, now and then: from before the read
	// before to behind the read that shows it.
	Stamps realtime.Histogram
	// Of the played edges, Back are on lines with a wire back, in a Memory; Lost of
	// them were not sampled.
	Back, Lost uint64
}

// leftAlone is a bank whose lines are read, and written without a change.
type leftAlone struct{ bank PinBank }

// LeaveAlone returns a bank that reads as bank does and that writes empty masks: each
// write takes its time and changes no pin.
func LeaveAlone(bank PinBank) PinBank { return leftAlone{bank} }

//go:nosplit
func (l leftAlone) Set(uint32) { l.bank.Set(0) }

//go:nosplit
func (l leftAlone) Clear(uint32) { l.bank.Clear(0) }

//go:nosplit
func (l leftAlone) Level() uint32 { return l.bank.Level() }

// Run measures until For is over or ctx is done, whichever is first: what there is by
// then is returned.
func (t TimingTrial) Run(ctx context.Context) (*Measurement, error) {
	if err := timing.Check(t.Edges, MostEdges, t.For); err != nil {
		return nil, err
	}
	w := timing.NewWheels(t.Edges)
	layout, pins := w.Layout()
	if m, ok := t.PinBank.(*Memory); ok {
		wireBack(m, &layout, &pins)
	}
	b, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pins, Scheduling: t.Scheduling}, PinBank: t.PinBank, Time: t.Time})
	if err != nil {
		return nil, err
	}
	k := &Measurement{Measurement: timing.Measurement{Denied: b.Denied()}}
	back := comeBack{bench: b}
	err = k.Play(ctx, b.Bench, w, t.For, back.count, t.Progress)
	back.count()
	measured := b.Timing()
	k.Gaps, k.Stamps, k.Late, k.Reads, k.Played = measured.Gaps, measured.Stamps, measured.Late, measured.Gaps.Count, measured.Late.Count
	if b.on.loop.sampler.mask != 0 {
		k.Back = w.First
		k.Lost = k.Back - min(back.edges, k.Back)
	}
	if closing := b.Close(); err == nil {
		err = closing
	}
	return k, err
}

// wireBack adds a line for each wheel on which the first of its encoder comes back.
func wireBack(m *Memory, layout *signal.Layout, pins *hostlines.Pins) {
	first := len(layout.Lines)
	for i := 0; i < first; i += 2 {
		pin := uint8(len(*pins))
		m.Wire((*pins)[i], pin)
		*pins = append(*pins, pin)
		layout.Lines = append(layout.Lines, signal.LineSpec{Name: layout.Lines[i].Name + "_back", Direction: signal.Capture})
	}
}

// comeBack counts the edges that come back.
type comeBack struct {
	bench *Bench
	taken []signal.Edge
	level uint32 // of the lines that come back, as sampled, by line
	edges uint64
}

// count counts what was sampled since the last call. A gap repeats the level that its line has.
func (c *comeBack) count() error {
	c.taken = appendUntil(c.bench.on.loop.sampler.captured, c.taken[:0], c.bench.Now())
	for _, e := range c.taken {
		bit := uint32(1) << (e.Line & 31)
		if e.Level != (c.level&bit != 0) {
			c.level ^= bit
			c.edges++
		}
	}
	return nil
}
