package page

import (
	"math"

	"hilrig/plant"
	"hilrig/suites/record"
	"hilrig/suites/report/plots"
)

// span adds what is within the picture of a stretch.
func (p *pictured) span(before string, s *record.Stretch) {
	from, to := max(seconds(s.FromNS), p.From), min(seconds(s.ToNS), p.To)
	if from < to {
		p.Spans = append(p.Spans, plots.Span{Name: before + s.Name, From: from, To: to})
	}
}

// framesOf returns the panel of what a motor was commanded about a moment.
func framesOf(m *record.Moment, w int) plots.Panel {
	of := &m.Motors[w]
	s := plots.Series{Name: plant.Wheels[w].String(), Stepped: true, Marked: true, Value: scaled(of.Values, 100)}
	at := m.FromNS
	for _, step := range of.StepsNS {
		at += step
		s.At = append(s.At, seconds(at))
	}
	panel := plots.Panel{Name: motorName(plant.Wheels[w]), Unit: "% of range", Series: []plots.Series{s}, Least: leastRange}
	if base, ok := baselineOf(m, w); ok {
		panel.Levels = []plots.Level{{Name: "baseline", From: seconds(m.FromNS), To: seconds(m.ToNS), Value: base}}
	}
	return panel
}

// baselineOf returns a motor's baseline in %; NaN where there is none.
func baselineOf(m *record.Moment, w int) (base float64, ok bool) {
	if b := m.Motors[w].Baseline; b != nil {
		return 100 * *b, true
	}
	return math.NaN(), false
}

// seconds returns a time of the record in s.
func seconds(ns int64) float64 { return float64(ns) / 1e9 }
