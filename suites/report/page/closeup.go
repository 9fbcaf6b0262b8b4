package page

import (
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/record"
	"hilrig/suites/report/plots"
)

// What is shown frame by frame about a moment, and at most before it, so that what was changed is seen.
const (
	closeBefore = 150 * signal.Millisecond
	closeMost   = 450 * signal.Millisecond
	closeAfter  = 250 * signal.Millisecond
	mostFrames  = 600 // of one motor
	mostPoints  = 250 // of a played quantity
)

// closeUp is what a case that was played again showed about a moment.
type closeUp struct {
	at, from, to float64
	played       [trace.Channels][]float64 // in s of time below
	times        []float64
	frames       [len(plant.Wheels)]plots.Series
	base         [len(plant.Wheels)]float64 // of the baseline, in %; NaN: there is none
	step         plots.Span                 // the window that was measured
	faults       []plots.Span
	missing      int // frames that are left out
}

// Replays says whether any case is worth being played again for the page.
func (p *Page) Replays() bool {
	return slices.ContainsFunc(p.failures(), (*failure).replays)
}

// Wants says whether a case is worth being played again for the page.
func (p *Page) Wants(suite, index int) bool {
	return slices.ContainsFunc(p.failures(), func(f *failure) bool { return f.replays() && f.place == (place{suite, index}) })
}

// replays says whether the moment of a failure is worth being had again.
func (f *failure) replays() bool { return f.turn < mostReplayed && f.shown != nil }

// Take takes what a case showed that was played again. Nothing of e is kept.
func (p *Page) Take(suite, index int, e *assertions.Evidence) {
	for _, f := range p.failures() {
		if f.replays() && f.place == (place{suite, index}) {
			f.close = closeUpOf(e, f.shown)
		}
	}
}

// NotReplayed tells that cases could not be played again, and why. What was had again before is left
// out too: it is of a run that differs.
func (p *Page) NotReplayed(why error) {
	for _, f := range p.failures() {
		f.close = nil
	}
	p.notReplayed = why.Error()
}

// closeUpOf returns what is about the moment of a check.
func closeUpOf(e *assertions.Evidence, k *record.Check) *closeUp {
	at := signal.Time(k.AtNS)
	t := e.Trace
	from, to := at-closeBefore, at+closeAfter
	step, known := e.Step(k.Step)
	if known && k.Step != "" {
		from = max(at-closeMost, min(from, step.Applied-50*signal.Millisecond))
	}
	from, to = max(from, t.Start), min(to, t.Start+signal.Time(t.Rows())*t.Tick)
	if from >= to || t.Folds() {
		return nil
	}
	c := &closeUp{at: at.Seconds(), from: from.Seconds(), to: to.Seconds()}
	if known && k.Step != "" {
		c.step = plots.Span{Name: "measured: " + step.Name, From: step.From.Seconds(), To: step.To.Seconds()}
		for _, f := range step.Faults {
			c.faults = append(c.faults, plots.Span{Name: f.Kind.String() + ": " + f.Wire, From: max(f.From, from).Seconds(), To: min(f.To, to).Seconds()})
		}
	}
	c.take(t, from, to)
	base, ok := e.Baseline()
	for w := range c.base {
		c.base[w] = math.NaN()
		if ok {
			c.base[w] = 100 * meanOf(t.Motor[w].Between(base.From, base.To))
		}
	}
	return c
}

// take takes channels and frames of a trace.
func (c *closeUp) take(t *trace.Trace, from, to signal.Time) {
	first, last := int((from-t.Start)/t.Tick), int((to-t.Start)/t.Tick)
	stride := max(1, (last-first)/mostPoints)
	for i := first; i < last; i += stride {
		c.times = append(c.times, (t.Start + signal.Time(i)*t.Tick).Seconds())
	}
	for _, ch := range order {
		values := t.Values(ch, first, min(last, t.Length(ch)))
		for i := 0; i < len(values); i += stride {
			c.played[ch] = append(c.played[ch], values[i])
		}
	}
	for w := range t.Motor {
		frames := t.Motor[w].Between(from, to)
		if n := len(frames) - mostFrames; n > 0 {
			frames, c.missing = frames[:mostFrames], c.missing+n
		}
		s := plots.Series{Name: plant.Wheels[w].String(), Stepped: true, Marked: true}
		for i := range frames {
			s.At, s.Value = append(s.At, frames[i].End.Seconds()), append(s.Value, 100*frames[i].Value)
		}
		c.frames[w] = s
	}
}

// meanOf returns the mean of frames; NaN where there are none.
func meanOf(frames []trace.Frame) float64 {
	sum := 0.0
	for i := range frames {
		sum += frames[i].Value
	}
	return sum / float64(len(frames)) // 0/0 is NaN
}

// pictured pictures what was had again.
func (c *closeUp) pictured(k *record.Check) *pictured {
	p := &pictured{Picture: plots.Picture{Marks: []plots.Mark{{Name: markName(k), At: c.at}}, From: c.from, To: c.to}}
	if c.step.To > c.step.From && c.step.From < c.to && c.step.To > c.from {
		p.Spans = append(p.Spans, plots.Span{Name: c.step.Name, From: max(c.step.From, c.from), To: min(c.step.To, c.to)})
	}
	for _, s := range c.faults {
		if s.To > s.From {
			p.Spans = append(p.Spans, s)
		}
	}
	var held []string
	for _, ch := range order {
		if len(c.played[ch]) == len(c.times) {
			held = p.played(ch, c.times, slices.Clone(c.played[ch]), held)
		}
	}
	wheel, of := wheelOf(k)
	for _, w := range plant.Wheels {
		panel := plots.Panel{Name: motorName(w), Unit: "% of range", Series: []plots.Series{c.frames[w]}, Least: leastRange}
		if !math.IsNaN(c.base[w]) {
			panel.Levels = []plots.Level{{Name: "baseline", From: c.from, To: c.to, Value: c.base[w]}}
		}
		if of && w == wheel {
			panel.Levels = nil
			judge(&panel, k, c.base[w], max(c.step.From, c.from), c.to)
		}
		p.Panels = append(p.Panels, panel)
	}
	p.says = "Played again from the record's own files; each mark is a frame, where it was known. " + legend(p.Panels) + heldWords(held)
	return p
}
