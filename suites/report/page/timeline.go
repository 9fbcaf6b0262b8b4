package page

import (
	"fmt"
	"math"
	"strings"

	"hilrig/plant"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/plots"
)

// mostTimelines is how many losses of a suite are drawn.
const mostTimelines = 24

// timelines draws the commands about each loss, of the variant of each case with the least room.
func (p *Page) timelines(s *record.Suite, suite int) (all []picture) {
	left := 0
	for first := 0; first < len(s.Cases); {
		next := first + 1
		for next < len(s.Cases) && s.Cases[next].Name == s.Cases[first].Name {
			next++
		}
		if c, k, a := p.tightest(s, suite, first, next); a != nil {
			if len(all) == mostTimelines {
				left++
			} else if of, ok := timeline(a, c, k); ok {
				all = append(all, of)
			}
		}
		first = next
	}
	if left > 0 {
		all[len(all)-1].Caption += fmt.Sprintf(" %s not drawn.", report.Count(left, "more loss"))
	}
	return all
}

// tightest returns, of some cases, the time from a loss that comes closest to its limit or goes farthest
// past it; nil where none was measured or the record keeps nothing along it.
func (p *Page) tightest(s *record.Suite, suite, from, to int) (c *record.Case, k *record.Check, a *record.Along) {
	least := math.Inf(1)
	for i := from; i < to; i++ {
		along := p.along[place{suite, i}]
		for j := range s.Cases[i].Checks {
			one := &s.Cases[i].Checks[j]
			if along == nil || !timedFromLoss(one) {
				continue
			}
			if room := *one.LimitHigh - *one.Estimate; room < least {
				least, c, k, a = room, &s.Cases[i], one, along
			}
		}
	}
	return c, k, a
}

// timedFromLoss says whether a check measured a time from the last good value of something. A time of 0
// has no moment at its end, so that it cannot be told when it began.
func timedFromLoss(k *record.Check) bool {
	return k.Measured() && strings.HasPrefix(k.Quantity, timeFrom) && k.Unit == "ms" && k.LimitHigh != nil && k.Low != nil && *k.Low > 0
}

// timeline draws the commands about a loss: time is counted in ms from the last good value. The moment of
// the check is where the last motor was still as it should not be, Low after that.
func timeline(a *record.Along, c *record.Case, k *record.Check) (picture, bool) {
	last := float64(k.AtNS)/1e6 - *k.Low
	reach := max(*k.LimitHigh, *k.Estimate)
	of := plots.Picture{
		About: fmt.Sprintf("Commands about %s in %s", lostWords(k), c.Title()), Axis: "ms after " + lostWords(k), From: -0.4 * reach, To: 2.2 * reach, // so that names have room beside their lines
		Marks: []plots.Mark{
			{Name: lostWords(k), At: 0},
			{Name: stoodWords(k) + report.Measured(k), At: *k.Estimate},
			{Name: "limit " + report.WithUnit(report.Fixed(*k.LimitHigh, 0), k.Unit), At: *k.LimitHigh},
		},
	}
	panel := plots.Panel{Height: 110, Least: leastRange}
	for _, w := range plant.Wheels {
		line := plots.Series{Name: strings.ReplaceAll(w.String(), "_", " "), Stepped: true}
		for i, mean := range a.Motors[w].Mean {
			at := float64(a.StartNS+int64(i)*a.BinNS)/1e6 - last
			if at >= of.From-float64(a.BinNS)/1e6 && at <= of.To {
				line.At, line.Value = append(line.At, max(at, of.From)), append(line.Value, 100*mean)
			}
		}
		panel.Series = append(panel.Series, line)
	}
	if len(panel.Series[0].At) < 2 {
		return picture{}, false
	}
	of.Panels = []plots.Panel{panel}
	return picture{Title: c.Title(), Plot: drawn(of.SVG), Caption: "The four commands in % of range, means of 10 ms. " + sentence(k.Name)}, true
}

// lostWords names the last good value that a time is counted from.
func lostWords(k *record.Check) string {
	from, _, _ := strings.Cut(strings.TrimPrefix(k.Quantity, timeFrom), " until ")
	return strings.TrimPrefix(from, "the ")
}

// stoodWords says how the motors stand when a time has ended.
func stoodWords(k *record.Check) string {
	_, until, _ := strings.Cut(k.Quantity, " until ")
	if _, state, ok := strings.Cut(until, " is "); ok {
		return strings.TrimPrefix(state, "with ") + " "
	}
	return ""
}
