package page

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/plant"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/compare"
	"hilrig/suites/report/plots"
)

// How many cases are drawn for one part of the page, and for all of it; how many readings.
const (
	mostLaid      = 4
	mostLaidInAll = 24
	mostSpread    = 2
	longestLaid   = 8.0 // s: a longer case is drawn about the moment alone
	aroundLaid    = 3.0 // s before and after it
	mostLaidBins  = 300 // of a line
)

// Names of the two lines of a picture.
const beforeName, afterName = "before", "after"

// pictures draws some of the changes: a rate as bars, readings as how many are no larger, all else by what was
// commanded in its case, each case once.
func (p *Compared) pictures(changes []*compare.Change) (all []picture) {
	rates, spreads := 0, 0
	for _, x := range changes {
		switch a, b := x.Checks[0], x.Checks[1]; {
		case a == nil || b == nil || !a.Measured() || !b.Measured():
		case a.Unit == "Hz" && rates == 0:
			rates++
			all = append(all, bothBars(x))
		case len(a.Samples) > 0 && len(b.Samples) > 0 && spreads < mostSpread:
			spreads++
			all = append(all, bothSpreads(x))
		}
	}
	seen := map[compare.Place]bool{}
	for _, x := range changes {
		if len(seen) == mostLaid || p.drawn == mostLaidInAll {
			break
		}
		if seen[x.Places[0]] || timed(x) {
			continue
		}
		if pic, ok := p.laid(x, changes); ok {
			seen[x.Places[0]] = true
			p.drawn++
			all = append(all, pic)
		}
	}
	return all
}

// timed says whether a change is of a rate or of readings, which no commands along a case show.
func timed(x *compare.Change) bool {
	return slices.ContainsFunc(x.Checks[:], func(k *record.Check) bool { return k != nil && (k.Unit == "Hz" || len(k.Samples) > 0) })
}

// bothBars draws one check as it was and as it is.
func bothBars(x *compare.Change) picture {
	b := plots.Bars{About: x.Of() + " before and after", Axis: strings.TrimSuffix(x.Of()+", "+x.Unit, ", ")}
	for i, k := range x.Checks {
		bar := barOf(&record.Case{}, k)
		bar.Name = [...]string{beforeName, afterName}[i]
		b.Bars = append(b.Bars, bar)
	}
	return picture{Title: x.Where(), Plot: drawn(b.SVG), Caption: aboutBars}
}

// bothSpreads draws which share of the readings is no larger than each.
func bothSpreads(x *compare.Change) picture {
	of := plots.Across{About: "Readings of " + x.Of() + " before and after", X: strings.TrimSuffix("reading, "+x.Unit, ", "), Y: "readings that are no larger, %"}
	for i, k := range x.Checks {
		c := plots.Curve{Name: [...]string{beforeName, afterName}[i]}
		values := slices.Sorted(slices.Values(k.Samples))
		for j, v := range values {
			c.X, c.Y = append(c.X, v, v), append(c.Y, 100*float64(j)/float64(len(values)), 100*float64(j+1)/float64(len(values)))
		}
		of.Curves = append(of.Curves, c)
	}
	low, high := ends(x.Checks[1])
	for _, limit := range []float64{low, high} {
		if !math.IsInf(limit, 0) {
			of.Marks = append(of.Marks, plots.Mark{Name: "limit: " + report.Limit(x.Checks[1]), At: limit})
		}
	}
	return picture{Title: x.Where() + "; " + x.Of(), Plot: drawn(of.SVG), Caption: fmt.Sprintf("%d readings before, %d after.", len(x.Checks[0].Samples), len(x.Checks[1].Samples))}
}

// twoAlong is a stretch of one case in both records, in the same bins.
type twoAlong struct {
	of       [2]*record.Along
	from, to int // bins
	every    int // of those
	times    []float64
	at       float64 // the moment, s from the case's beginning; NaN: none
}

// laid draws what was commanded in a case before and after, one over the other, and on each motor the limit of what changed of
// it: of x, or else of the first of all changes that is of the case and that motor. ok is false where either record keeps
// nothing of the case.
func (p *Compared) laid(x *compare.Change, changes []*compare.Change) (pic picture, ok bool) {
	t := twoAlong{of: [2]*record.Along{p.runs[0].Alongs[x.Places[0]], p.runs[1].Alongs[x.Places[1]]}}
	if t.of[0] == nil || t.of[1] == nil || t.of[0].BinNS <= 0 || t.of[0].BinNS != t.of[1].BinNS || len(t.of[0].Motors[0].Mean) == 0 {
		return pic, false
	}
	t.cut(x)
	shown := &pictured{Picture: plots.Picture{About: "Commands before and after in " + x.Where(), From: t.times[0], To: t.times[len(t.times)-1] + t.bin()}}
	if !math.IsNaN(t.at) && t.at >= shown.From && t.at <= shown.To {
		shown.Marks = []plots.Mark{{Name: x.Of(), At: t.at}}
	}
	held := t.played(shown)
	for _, w := range plant.Wheels {
		panel := plots.Panel{Name: motorName(w), Unit: "% of range", Least: leastRange, Height: 54}
		for i, a := range t.of {
			panel.Series = append(panel.Series, plots.Series{Name: [...]string{beforeName, afterName}[i], At: t.times, Value: t.values(a.Motors[w].Mean, 100), Stepped: true})
		}
		for _, y := range append([]*compare.Change{x}, changes...) {
			check, at := newest(y), t.moment(y)
			if y.Places[0] != x.Places[0] || check == nil || math.IsNaN(at) || at >= shown.To {
				continue
			}
			if wheel, of := wheelOf(check); of && wheel == w {
				judge(&panel, check, t.base(y, w, at), max(at, shown.From), shown.To)
				break
			}
		}
		shown.Panels = append(shown.Panels, panel)
	}
	caption := x.Of() + ": " + x.Says() + ". Means of 10 ms, in s from the beginning of the case. "
	return picture{Title: x.Where(), Plot: drawn(shown.SVG), Caption: strings.TrimSpace(caption + legend(shown.Panels) + heldWords(held))}, true
}

// newest returns a change's check as it is now, or else as it was; nil where no check tells of it.
func newest(x *compare.Change) *record.Check {
	if x.Checks[1] != nil {
		return x.Checks[1]
	}
	return x.Checks[0]
}

// bin returns the length of a bin in s.
func (t *twoAlong) bin() float64 { return float64(t.of[0].BinNS) / 1e9 }

// moment returns when a change was, in s from the case's beginning; NaN where that is not known.
func (t *twoAlong) moment(x *compare.Change) float64 {
	since := func(ns int64, a *record.Along) float64 { return float64(ns-a.StartNS) / 1e9 }
	switch {
	case x.Check == "":
		return since(x.AtNS, t.of[0])
	case x.Checks[1] != nil && x.Checks[1].AtNS > 0:
		return since(x.Checks[1].AtNS, t.of[1])
	case x.Checks[0] != nil && x.Checks[0].AtNS > 0:
		return since(x.Checks[0].AtNS, t.of[0])
	}
	return math.NaN()
}

// cut chooses what is drawn: the whole case, or a part of a long one about the moment.
func (t *twoAlong) cut(x *compare.Change) {
	t.at = t.moment(x)
	bins, bin := max(len(t.of[0].Motors[0].Mean), len(t.of[1].Motors[0].Mean)), t.bin()
	t.from, t.to = 0, bins
	if float64(float64(bins)*bin) > longestLaid {
		middle := min(max(t.at, aroundLaid), float64(float64(bins)*bin)-aroundLaid)
		if math.IsNaN(middle) {
			middle = aroundLaid
		}
		t.from, t.to = max(0, int((middle-aroundLaid)/bin)), min(bins, int((middle+aroundLaid)/bin))
	}
	t.every = max(1, (t.to-t.from+mostLaidBins-1)/mostLaidBins)
	for i := t.from; i < t.to; i += t.every {
		t.times = append(t.times, float64(float64(i)*bin))
	}
}

// values returns the means of a quantity over the bins that are drawn as one; NaN where there are none.
func (t *twoAlong) values(of []float64, times float64) (all []float64) {
	for i := t.from; i < t.to; i += t.every {
		sum, n := 0.0, 0
		for _, v := range of[min(i, len(of)):min(i+t.every, t.to, len(of))] {
			if !math.IsNaN(v) {
				sum, n = sum+v, n+1
			}
		}
		all = append(all, sum/float64(n)*times) // 0/0 is NaN
	}
	return all
}

// played adds what was played: once where both runs played the same, else for each. It returns what was held.
func (t *twoAlong) played(shown *pictured) (held []string) {
	same := t.of[0].Stimulus != "" && t.of[0].Stimulus == t.of[1].Stimulus
	for _, name := range report.MomentChannels {
		before, after := t.of[0].Played[name.String()], t.of[1].Played[name.String()]
		if len(before) < t.to || len(after) < t.to {
			continue
		}
		if same {
			held = shown.played(name, t.times, t.values(before, 1), held)
			continue
		}
		of := channels[name.String()]
		shown.Panels = append(shown.Panels, plots.Panel{Name: of.name, Unit: of.unit, Height: 36, Series: []plots.Series{
			{Name: beforeName, At: t.times, Value: t.values(before, of.times)}, {Name: afterName, At: t.times, Value: t.values(after, of.times)},
		}})
	}
	return held
}

// base returns where the shift of a motor was counted from before: its command about the moment less the shift that was
// measured; NaN where that is not known.
func (t *twoAlong) base(x *compare.Change, w plant.Wheel, at float64) float64 {
	for i, k := range x.Checks {
		if k != nil && k.Measured() && strings.HasPrefix(k.Quantity, shiftOf) {
			values := t.values(t.of[i].Motors[w].Mean, 100)
			if base := meanFrom(t.times, values, at, 0.1) - *k.Estimate; !math.IsNaN(base) {
				return base
			}
		}
	}
	return math.NaN()
}
