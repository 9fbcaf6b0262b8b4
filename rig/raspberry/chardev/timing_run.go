//go:build linux

package chardev

import (
	"context"
	"errors"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// Run measures until For is over or ctx is done, whichever is first: what there is by
// then is returned. With a jumper it makes sure first that one is there and that nobody
// else drives it, tries higher and higher rates for a few seconds afterwards, and leaves
// both lines inputs, pulled low.
func (t Trial) Run(ctx context.Context) (*Measurement, error) {
	if err := t.check(); err != nil {
		return nil, err
	}
	chip, err := cdev.Open(t.Path)
	if err != nil {
		return nil, err
	}
	known := headerLabels[chip.Info().Label]
	switch {
	case t.Jumper == nil && !known:
		return nil, errors.Join(errors.New(t.Path+" is not a Pi's header, and which of its lines can be read without harm is not known; join two with a jumper and name them"), chip.Close())
	case t.Jumper == nil:
		still, lines, err := newStill(chip)
		if err != nil {
			return nil, err
		}
		return t.still(ctx, still, lines)
	case known:
		if err := t.Jumper.Check(); err != nil {
			return nil, errors.Join(err, chip.Close())
		}
	}
	if err := t.withLines(func(lines hostlines.Lines) error { return t.Jumper.checkConnected(lines) }); err != nil {
		return nil, errors.Join(err, chip.Close())
	}
	k, err := t.over(ctx, charChip{chip}, rungs)
	return k, errors.Join(err, t.withLines(t.Jumper.letGo))
}

// withLines does something with the chip's lines, one by one.
func (t Trial) withLines(do func(hostlines.Lines) error) error {
	lines, err := OpenLines(t.Path)
	if err != nil {
		return err
	}
	return errors.Join(do(lines), lines.Close())
}

// still plays a vehicle into device, whose lines are read.
func (t Trial) still(ctx context.Context, device charDevice, lines []int) (*Measurement, error) {
	v, layout, pins := newVehicle(t.Edges)
	p := charTiming{device: &timedDevice{charDevice: device}, measured: &Measurement{Read: lines}}
	if err := p.open(hostlines.Settings{Layout: layout, Pins: pins, Scheduling: t.Scheduling}); err != nil {
		return nil, err
	}
	err := p.play(ctx, v, t.For, t.Progress)
	p.measure(p.measured)
	return p.measured, errors.Join(err, p.bench.Close())
}

// over plays bursts over the jumper, then tries one rate after the other.
func (t Trial) over(ctx context.Context, device charDevice, rates []float64) (*Measurement, error) {
	layout := signal.Layout{Lines: []signal.LineSpec{{Name: "jumper_out"}, {Name: "jumper_in", Direction: signal.Capture}}}
	p := charTiming{device: &timedDevice{charDevice: device}, measured: &Measurement{Jumper: &JumperMeasurement{Link: *t.Jumper}}}
	p.match = &matcher{measured: p.measured.Jumper}
	if err := p.open(hostlines.Settings{Layout: layout, Pins: hostlines.Pins{uint8(t.Jumper.Out), uint8(t.Jumper.In)}, Scheduling: t.Scheduling}); err != nil {
		return nil, err
	}
	b := &bursts{period: 1e9 / t.Edges}
	err := p.play(ctx, b, t.For, t.Progress)
	p.measure(p.measured)
	for _, rate := range rates {
		if err != nil || ctx.Err() != nil {
			break
		}
		b.period = 1e9 / rate
		var r Rung
		if r, err = p.rung(ctx, b); err != nil || ctx.Err() != nil {
			break
		}
		r.Rate = rate
		p.measured.Jumper.Rungs = append(p.measured.Jumper.Rungs, r)
		if !r.Well() {
			break
		}
		p.measured.Jumper.Highest = rate
	}
	return p.measured, errors.Join(err, p.bench.Close())
}

// The rates that are tried over a jumper, in edges a second, and for how long each.
var rungs = []float64{1e3, 2e3, 5e3, 10e3, 20e3, 50e3, 100e3, 200e3, 500e3, 1e6}

const rungFor = 200 * signal.Millisecond

// rung tries the rate of bursts.
func (p *charTiming) rung(ctx context.Context, b *bursts) (Rung, error) {
	one := charTiming{device: p.device, bench: p.bench, measured: &Measurement{Jumper: &JumperMeasurement{}}}
	one.match = &matcher{measured: one.measured.Jumper}
	before := p.bench.Timing().Late
	err := one.play(ctx, b, rungFor, nil)
	late := p.bench.Timing().Late.Since(before)
	j := one.measured.Jumper
	return Rung{
		Planned: one.measured.Planned, Lost: j.Lost + j.Extra + j.Turned + one.measured.Skipped,
		Late: late.Quantile(0.99), Behind: one.measured.For > rungFor+rungFor/10,
	}, err
}

// charTiming is a trial under way.
type charTiming struct {
	device   *timedDevice
	bench    *Bench
	measured *Measurement
	match    *matcher // nil: there is no jumper
	taken    []signal.Edge
}

// open opens the bench, which closes the device.
func (p *charTiming) open(s hostlines.Settings) (err error) {
	if p.bench, err = newBench(&s, p.device); err == nil {
		p.measured.Denied = p.bench.Denied()
	}
	return err
}

// play plays edges, and waits until all that came of them is reported.
func (p *charTiming) play(ctx context.Context, from timing.Edges, length signal.Time, progress func(done signal.Time)) error {
	b := p.bench
	if _, err := b.ReadBack(p.taken[:0]); err != nil { // from now on there is something to read back
		return err
	}
	if err := p.measured.Play(ctx, b.Bench, from, length, p.count, progress); err != nil || p.match == nil {
		return err
	}
	err := errors.Join(b.Wait(b.Present()+eventLag), p.count())
	p.match.end()
	return err
}

// eventLag is how long after its edge an event still counts as one that comes.
const eventLag = 20 * signal.Millisecond

// count counts what was played and what was reported, as a run does.
func (p *charTiming) count() (err error) {
	b := p.bench
	reported := b.Now()
	if p.taken, err = b.Captured(p.taken[:0]); err != nil {
		return err
	}
	if p.taken, err = b.ReadBack(p.taken[:0]); err != nil {
		return err
	}
	if p.match == nil {
		return nil
	}
	for _, e := range p.taken {
		p.match.out = append(p.match.out, putOut{e.At - signal.Time(e.Uncertainty), e.At, e.Level})
	}
	p.match.reported = p.device.heard.appendRead(p.match.reported, b.on.listen.zero)
	p.match.settle(reported - eventLag)
	return nil
}

// measure reads what was counted so far.
func (p *charTiming) measure(k *Measurement) {
	k.Late = p.bench.Timing().Late
	k.Played = k.Late.Count
	p.bench.Look(func() { k.Calls, k.Several = p.device.calls.one, p.device.calls.several })
	if k.Jumper != nil {
		k.Jumper.Read = p.device.heard.reading()
	}
}
