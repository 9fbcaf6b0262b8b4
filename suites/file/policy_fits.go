package file

import (
	"fmt"
	"strings"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// oppositeLock reports a share of opposite lock without its word, and the word without it.
func (r *reader) oppositeLock(v *language.Mapping) {
	word, share := v.Word("opposite_lock"), v.Get("opposite_lock_share")
	switch {
	case word == law.OppositeLockShare.String() && !v.Written("opposite_lock_share"):
		r.Report(v.NodeAt("opposite_lock"), "opposite_lock is a share, and no share is given", "add opposite_lock_share: 50 %")
	case word != law.OppositeLockShare.String() && share != nil && !bad(v, "opposite_lock"):
		r.Report(share.Key, "opposite_lock_share has no meaning without opposite_lock: share", "write opposite_lock: share, or leave opposite_lock_share out")
	}
}

// bad tells whether a key stands in the file and was reported as wrong.
func bad(v *language.Mapping, name string) bool { return v.Written(name) && !v.Has(name) }

// axleShares reports shares of axles that contradict the branch that they stand in.
func (r *reader) axleShares(name string, s *law.Split, v *language.Mapping) {
	for _, axle := range []string{"front", "rear"} {
		x := v.Get(axle)
		switch {
		case x == nil:
		case s.Varies:
			r.Report(x.Key, fmt.Sprintf("%s stands beside shares: vary, which says that the shares are not fixed", axle), "leave one of them out")
		case !moves(s, axle) && !bad(v, "raise") && !bad(v, "lower"):
			r.Report(x.Key, fmt.Sprintf("%s shifts no motor of the %s axle", name, axle), "name one in raise or lower, or leave "+axle+" out")
		}
	}
}

// moves tells whether a branch moves a motor of an axle, "front" or "rear".
func moves(s *law.Split, axle string) bool {
	for _, motors := range [][]law.Corner{s.Raise, s.Lower} {
		for _, c := range motors {
			if strings.Contains(string(c), axle) {
				return true
			}
		}
	}
	return false
}

// shiftAt reads the size of the shift, and reports a bound that contradicts it.
func (r *reader) shiftAt(v *language.Mapping) *law.ShiftAt {
	if v == nil {
		return nil
	}
	s := &law.ShiftAt{
		Error: v.Number("error"), Gain: v.Number("gain"), Is: v.Number("is"), Within: v.Number("within"),
		Grows: wordAt[law.Growth](v, "grows"), Most: v.Number("most"), DerivativeTime: v.Number("derivative_time"),
	}
	switch most := v.Get("most"); {
	case most == nil:
	case s.Grows <= law.GrowthProportional && !bad(v, "grows"):
		r.Report(most.Key, "most has no meaning where the shift grows in proportion", "add grows: saturating or grows: integrating, or leave most out")
	case s.Most < s.Is:
		r.Report(most.Node, fmt.Sprintf("most %s is below the shift that is declared, %s", most.Node.Text, v.NodeAt("is").Text), "write the largest shift that there can be")
	}
	return s
}

// gainSteps reads the positions of a trim that is a switch.
func (r *reader) gainSteps(v *language.Mapping) []float64 {
	list := v.List("gain_steps")
	if len(list) == 1 {
		if list[0].Word == "none" {
			return nil
		}
		r.Report(v.NodeAt("gain_steps"), "gain_steps has one position", "give all of them, ascending, or write gain_steps: none")
	}
	var steps []float64
	for _, x := range list {
		if x.Word == "none" {
			r.Report(x.Node, "gain_steps has none among its positions", "give all of them, ascending, or write gain_steps: none")
			continue
		}
		if n := len(steps); n > 0 && x.Number <= steps[n-1] {
			r.Report(x.Node, fmt.Sprintf("gain step %s is not above the one before", x.Node.Text), "order them by rising gain")
		}
		steps = append(steps, x.Number)
	}
	return steps
}

// limitsFit reports limits that leave no room between them, and words for one that there is not.
func (r *reader) limitsFit(p *law.Policy, v *language.Mapping) {
	if f := v.Get("floor"); f != nil && p.Cap != nil && p.Cap.Of > 0 && f.Number >= p.Cap.Of {
		r.Report(f.Node, fmt.Sprintf("floor %s is not below the cap", f.Node.Text), "write a smaller share")
	}
	if s := v.Get("sum_cap"); s != nil && p.Floor != nil && s.Number <= 4**p.Floor {
		r.Report(s.Node, fmt.Sprintf("sum_cap %s is not above what four motors at the floor of %s come to", s.Node.Text, v.NodeAt("floor").Text), "write a larger sum_cap or a smaller floor")
	}
	for _, limit := range []string{"cap", "floor"} {
		if x := v.Get("at_the_" + limit); x != nil && !v.Written(limit) {
			r.Report(x.Key, fmt.Sprintf("at_the_%s has no meaning: the policy has no %s", limit, limit), "declare "+limit+": "+PolicyTable.Key(limit).Sample()+", or leave at_the_"+limit+" out")
		}
	}
}
