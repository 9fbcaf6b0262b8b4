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

// shift is what one wheel's shift came to in one situation and turn, over the variants of its cases.
type shift struct {
	least, most *record.Check // nil: not read
	readings    int
}

// split is the shifts of one situation: by turn, left first, and by wheel.
type split struct {
	situation string
	turns     [2][len(plant.Wheels)]shift
	asked     bool // a motor was to be raised or lowered
}

// turnOf returns in which turn a shift was measured: 0 left, 1 right, by the place that the quantity
// names for its wheel; -1 where it names none.
func turnOf(quantity string, w plant.Wheel) int {
	leftWheel := w == plant.FrontLeft || w == plant.RearLeft
	outside := strings.HasPrefix(quantity, shiftOf+"outside_")
	if !outside && !strings.HasPrefix(quantity, shiftOf+"inside_") {
		return -1
	}
	if outside == leftWheel {
		return 1 // the left side is the outside in a right turn
	}
	return 0
}

// splitsOf collects the shifts of a suite by situation, in the order in which they came.
func splitsOf(s *record.Suite) (all []*split) {
	known := map[string]*split{}
	seen := map[string]bool{} // one reading stands in several checks
	for i := range s.Cases {
		for j := range s.Cases[i].Checks {
			k := &s.Cases[i].Checks[j]
			situation, asks, named := strings.Cut(k.Name, ": ")
			w, of := wheelOf(k)
			if !named || !of || !k.Measured() || k.Unit != "%" {
				continue
			}
			turn := turnOf(k.Quantity, w)
			if turn < 0 || strings.Contains(k.Quantity, " over ") {
				continue
			}
			one := known[situation]
			if one == nil {
				one = &split{situation: situation}
				known[situation] = one
				all = append(all, one)
			}
			one.asked = one.asked || strings.HasSuffix(asks, "raised") || strings.HasSuffix(asks, "lowered")
			key := s.Cases[i].Title() + "\x00" + k.Step + "\x00" + situation + "\x00" + k.Quantity
			one.turns[turn][w].add(k, !seen[key])
			seen[key] = true
		}
	}
	return all
}

// add takes a reading.
func (h *shift) add(k *record.Check, fresh bool) {
	if fresh {
		h.readings++
	}
	if h.least == nil || *k.Estimate < *h.least.Estimate {
		h.least = k
	}
	if h.most == nil || *k.Estimate > *h.most.Estimate {
		h.most = k
	}
}

// says writes a shift in figures: from the least to the most where they differ.
func (h *shift) says() string {
	if h.least == nil {
		return "not read"
	}
	low, high := percent(h.least), percent(h.most)
	if low == high {
		return low + " %"
	}
	return low + " to\n" + high + " %"
}

// percent writes a check's estimate to as many digits as its interval has.
func percent(k *record.Check) string {
	n := 2
	if k.Low != nil && k.High != nil {
		n = min(2, report.Decimals((*k.High-*k.Low)/2))
	}
	text := report.Fixed(*k.Estimate, min(n, 1))
	if !strings.HasPrefix(text, "-") && strings.Trim(text, "0.") != "" {
		text = "+" + text
	}
	return text
}

// largest returns the end of a shift that is farther from 0.
func (h *shift) largest() float64 {
	if h.least == nil {
		return math.NaN()
	}
	if math.Abs(*h.least.Estimate) > math.Abs(*h.most.Estimate) {
		return *h.least.Estimate
	}
	return *h.most.Estimate
}

// splits draws the situations of a suite in which a shift was asked for.
func (p *Page) splits(s *record.Suite, _ int) (all []picture) {
	splits := splitsOf(s)
	longest := 0.0
	for _, one := range splits {
		for t := range one.turns {
			for w := range one.turns[t] {
				if x := math.Abs(one.turns[t][w].largest()); x > longest {
					longest = x
				}
			}
		}
	}
	for _, one := range splits {
		if !one.asked {
			continue
		}
		car := plots.Car{About: "Shift of each wheel in " + one.situation}
		readings := 0
		for t, name := range []string{"turn left", "turn right"} {
			turn := plots.Turn{Name: name, Left: t == 0}
			any := false
			for w := range turn.Wheels {
				h := &one.turns[t][w]
				turn.Wheels[w] = plots.Wheel{Shift: h.largest() / max(longest, 1), Says: h.says()}
				any = any || h.least != nil
				readings = max(readings, h.readings)
			}
			if any {
				car.Turns = append(car.Turns, turn)
			}
		}
		all = append(all, picture{
			Title: "Shift between the wheels: " + one.situation, Plot: drawn(car.SVG),
			Caption: "In % of a motor's range from the baseline; to the front is raised, to the rear lowered. " + ofReadings(readings),
		})
	}
	return all
}

// ofReadings says what the figures at each wheel are made of.
func ofReadings(n int) string {
	if n < 2 {
		return "One reading of each wheel."
	}
	return fmt.Sprintf("The least to the most of %d readings of each wheel; the arrow is as long as the farther one.", n)
}
