package page

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/plots"
)

// mostBars is how many estimates are drawn in one picture.
const mostBars = 40

// barOf returns a check as a bar.
func barOf(c *record.Case, k *record.Check) plots.Bar {
	b := plots.Bar{Name: c.Title() + stepWords(k), Says: report.Measured(k), Estimate: *k.Estimate, Low: math.NaN(), High: math.NaN()}
	if k.Verdict != record.Pass {
		b.Says = strings.ToUpper(k.Verdict) + "  " + b.Says
	}
	b.LimitLow, b.LimitHigh = ends(k)
	if k.Low != nil {
		b.Low = *k.Low
	}
	if k.High != nil {
		b.High = *k.High
	}
	return b
}

// besides is how high other pictures are with their words, in the unit of [plots.Width].
const besides = 250

// barred collects the measured checks of a suite that are asked for, as bars.
func barred(s *record.Suite, want func(k *record.Check) bool) (bars []plots.Bar, checks []*record.Check, left int) {
	for i := range s.Cases {
		c := &s.Cases[i]
		for j := range c.Checks {
			k := &c.Checks[j]
			if !k.Measured() || !want(k) {
				continue
			}
			if len(bars) == mostBars {
				left++
				continue
			}
			bars, checks = append(bars, barOf(c, k)), append(checks, k)
		}
	}
	return bars, checks, left
}

// The beginnings of quantities that have pictures of their own.
const (
	responseOf = "response of "
	loopRate   = "loop rate"
	timeFrom   = "time from "
)

// Words for what bars show.
const (
	aboutBars = "A dot is the estimate, the line about it its interval, the upright stroke the limit."
	barsLeft  = " %d more are left out; their figures are in the record."
)

// responses draws how late the board answered and how often its loop runs.
func (p *Page) responses(s *record.Suite, _ int) (all []picture) {
	bars, _, left := barred(s, func(k *record.Check) bool { return strings.HasPrefix(k.Quantity, responseOf) })
	if len(bars) > 0 {
		all = append(all, barPicture("Response", "response, ms", bars, left, true, ""))
	}
	all = append(all, readings(s)...)
	bars, checks, left := barred(s, func(k *record.Check) bool { return strings.HasPrefix(k.Quantity, loopRate) })
	if len(bars) > 0 {
		all = append(all, barPicture("Loop rate", "loop rate, "+checks[0].Unit, bars, left, false, aliases(checks)))
	}
	return all
}

// aliases says which other rates would explain the frames of loop rates as well.
func aliases(checks []*record.Check) string {
	var whys []string
	alone := 0
	for _, k := range checks {
		switch {
		case k.Why != "" && !slices.Contains(whys, sentence(k.Why)):
			whys = append(whys, sentence(k.Why))
		case k.Why != "":
		case strings.HasPrefix(k.Quantity, loopRate+", by "):
			alone++
		default:
			whys = append(whys, sentence("read as "+k.Quantity))
		}
	}
	switch {
	case alone > 0 && len(whys) > 0:
		whys = append(whys, fmt.Sprintf("In %s no other rate fits the frames as well.", report.Count(alone, "case")))
	case alone > 0:
		whys = append(whys, "No other rate fits the frames as well.")
	}
	return strings.Join(whys, " ")
}

// sentence makes a sentence of words.
func sentence(words string) string {
	first, size := utf8.DecodeRuneInString(words)
	return string(unicode.ToUpper(first)) + strings.TrimRight(words[size:], ".") + "."
}

// readings draws how the single readings of each response are spread, where the record keeps them.
func readings(s *record.Suite) (all []picture) {
	left := 0
	for i := range s.Cases {
		c := &s.Cases[i]
		for j := range c.Checks {
			k := &c.Checks[j]
			if !k.Measured() || len(k.Samples) == 0 {
				continue
			}
			if len(all) == mostHistograms {
				left++
				continue
			}
			all = append(all, spread(c, k))
		}
	}
	if left > 0 {
		all[len(all)-1].Caption += fmt.Sprintf(" %s not drawn.", report.Count(left, "more distribution"))
	}
	return all
}

// mostHistograms is how many of a suite's distributions are drawn.
const mostHistograms = 12

// spread draws how a check's readings are spread.
func spread(c *record.Case, k *record.Check) picture {
	h := plots.Histogram{
		About: k.Quantity + " in " + c.Title(), Axis: strings.TrimSuffix("reading, "+k.Unit, ", "), Counted: "readings", Values: k.Samples,
		Marks: []plots.Mark{{Name: "estimate " + report.Measured(k), At: *k.Estimate}},
	}
	low, high := ends(k)
	for _, limit := range []float64{low, high} {
		if !math.IsInf(limit, 0) {
			h.Marks = append(h.Marks, plots.Mark{Name: "limit: " + report.Limit(k), At: limit})
		}
	}
	return picture{
		Title: c.Title() + stepWords(k), Plot: drawn(h.SVG),
		Caption: fmt.Sprintf("How %s that the record keeps are spread: %s.", report.Count(len(k.Samples), "reading"), k.Quantity),
	}
}

// stepWords names the step of a check behind its case.
func stepWords(k *record.Check) string {
	if k.Step == "" {
		return ""
	}
	return ": " + k.Step
}

// losses draws how long it took from the last good value until the motors were as they should be.
func (p *Page) losses(s *record.Suite, _ int) []picture {
	bars, _, left := barred(s, func(k *record.Check) bool { return strings.HasPrefix(k.Quantity, timeFrom) && k.Unit == "ms" })
	if len(bars) == 0 {
		return nil
	}
	return []picture{barPicture("How long until the motors stood as the policy says", "time, ms", bars, left, true,
		"At 0 came the last good frame, pulse or edge of what was lost, or the first frame on demand; a bar ends where the last motor stood as the policy says.")}
}

// barPicture returns bars with their words.
func barPicture(title, axis string, bars []plots.Bar, left int, fromZero bool, more string) picture {
	b := plots.Bars{About: title, Axis: axis, Bars: bars, FromZero: fromZero}
	caption := aboutBars
	if more != "" {
		caption = more + " " + caption
	}
	if left > 0 {
		caption += fmt.Sprintf(barsLeft, left)
	}
	return picture{Title: title, Plot: drawn(b.SVG), Caption: caption, Rows: 1 + int(b.Height()/besides)}
}
