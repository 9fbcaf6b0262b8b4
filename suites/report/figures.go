package report

import (
	"reflect"
	"slices"
	"strings"

	"hilrig/assertions/characteristic"
	"hilrig/suites/record"
)

// figureNames are what people call the figures of a speed controller, by their keys.
var figureNames = map[string]string{
	characteristic.KeyIndependent:    "independent linearity",
	characteristic.KeyLeastSquares:   "least squares linearity",
	characteristic.KeyTerminalBased:  "terminal-based linearity",
	characteristic.KeyZeroBased:      "zero-based linearity",
	characteristic.KeyStartThreshold: "start threshold",
	characteristic.KeyDeadBand:       "dead band",
	characteristic.KeySaturation:     "saturation point",
	characteristic.KeyFirstTenth:     "slope of the first tenth",
	characteristic.KeyRiseTime:       "rise time",
	characteristic.KeyFullOutput:     "full output",
}

// FigureName returns what people call a check: a figure of a speed controller by its key, any
// other as it is.
func FigureName(check string) string {
	if name, ok := figureNames[check]; ok {
		return name
	}
	return check
}

// Held is the figures under one held condition, as they are shown.
type Held struct {
	*record.Case
	Shown      []*record.Check // what was measured, or asked and not measured
	Same       bool            // figures that are as in the variant before are left out of Shown
	Unmeasured []Unmeasured    // what was neither asked nor measured
}

// Unmeasured is what could not be measured for one reason.
type Unmeasured struct {
	Why   string
	Names []string
}

// HeldConditions returns the figures of a result, condition by condition.
func HeldConditions(r *record.Result) []*Held {
	var all []*Held
	for i := range r.Suites {
		for j := range r.Suites[i].Cases {
			h := &Held{Case: &r.Suites[i].Cases[j]}
			var before *record.Case
			if j > 0 && r.Suites[i].Cases[j-1].Name == h.Name {
				before = &r.Suites[i].Cases[j-1]
			}
			for k := range h.Checks {
				h.add(&h.Checks[k], before)
			}
			all = append(all, h)
		}
	}
	return all
}

// add takes a figure; before is the variant before, nil where there is none.
func (h *Held) add(c *record.Check, before *record.Case) {
	if before != nil && slices.ContainsFunc(before.Checks, func(o record.Check) bool { return reflect.DeepEqual(o, *c) }) {
		h.Same = true
		return
	}
	if c.Measured() || c.Verdict != record.NotAsked {
		h.Shown = append(h.Shown, c)
		return
	}
	i := slices.IndexFunc(h.Unmeasured, func(l Unmeasured) bool { return l.Why == c.Why })
	if i < 0 {
		i = len(h.Unmeasured)
		h.Unmeasured = append(h.Unmeasured, Unmeasured{Why: c.Why})
	}
	h.Unmeasured[i].Names = append(h.Unmeasured[i].Names, FigureName(c.Name))
}

// Unmet is a figure that failed or is undecided, under one held condition.
type Unmet struct {
	*record.Check
	Name     string
	Held     string
	Variants []string // in which it came to the same verdict for the same reason
}

// UnmetFigures returns the figures that stand against GO, those that failed first, each once for
// its held condition, and what explains others before them.
func UnmetFigures(r *record.Result) []*Unmet {
	var all []*Unmet
	for _, verdict := range record.Unmet {
		for i := range r.Suites {
			for j := range r.Suites[i].Cases {
				c := &r.Suites[i].Cases[j]
				var checks []*record.Check
				for k := range c.Checks {
					if c.Checks[k].Verdict == verdict {
						checks = append(checks, &c.Checks[k])
					}
				}
				slices.SortStableFunc(checks, func(a, b *record.Check) int { return characteristic.CompareCauses(a.Name, b.Name) })
				for _, k := range checks {
					all = unite(all, c, k)
				}
			}
		}
	}
	return all
}

// FailedFigures returns what people call the figures that failed, each once, what explains others
// before them.
func FailedFigures(r *record.Result) []string {
	var names []string
	for _, u := range UnmetFigures(r) {
		if u.Verdict == record.Fail && !slices.Contains(names, u.Name) {
			names = append(names, u.Name)
		}
	}
	return names
}

// unite adds a figure, or the variant to one that says the same.
func unite(all []*Unmet, c *record.Case, k *record.Check) []*Unmet {
	for _, u := range all {
		if u.Held == c.Name && u.Check.Name == k.Name && u.Verdict == k.Verdict && Measured(u.Check) == Measured(k) && u.Why == k.Why {
			u.Variants = append(u.Variants, c.Variant)
			return all
		}
	}
	return append(all, &Unmet{Check: k, Name: FigureName(k.Name), Held: c.Name, Variants: []string{c.Variant}})
}

// Says returns what the figure came to, in words.
func (u *Unmet) Says() string {
	var parts []string
	for _, part := range []string{Measured(u.Check), Limit(u.Check), u.Why} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, "; ")
}

// Where returns under what it came to that.
func (u *Unmet) Where() string {
	variants := strings.Trim(strings.Join(u.Variants, ", "), ", ")
	if variants == "" {
		return u.Held
	}
	return u.Held + " (" + variants + ")"
}
