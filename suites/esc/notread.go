package esc

import (
	"fmt"
	"strings"

	"hilrig/assertions/characteristic"
)

// notRead names the levels that lack readings: those that were never reached, those that never gave a reading that
// can be trusted, and those that did so at times alone. A sentence each.
func notRead(set *characteristic.Set) (notes []string) {
	came := make([][3]int, len(set.Levels)) // by level and status
	for i := range set.Readings {
		if r := &set.Readings[i]; r.Level >= 0 && r.Level < len(came) {
			came[r.Level][r.Status]++
		}
	}
	for _, one := range []struct {
		said string
		is   func(n [3]int) bool
	}{
		{"not reached", func(n [3]int) bool {
			return n[characteristic.Read] == 0 && n[characteristic.NotReached] > 0 && n[characteristic.Dropped] == 0
		}},
		{"dropped", func(n [3]int) bool { return n[characteristic.Read] == 0 && n[characteristic.Dropped] > 0 }},
		{"reached at times alone", func(n [3]int) bool { return n[characteristic.Read] > 0 && n[characteristic.NotReached] > 0 }},
		{"dropped at times", func(n [3]int) bool { return n[characteristic.Read] > 0 && n[characteristic.Dropped] > 0 }},
	} {
		var all []int
		for level, n := range came {
			if one.is(n) {
				all = append(all, level)
			}
		}
		if len(all) > 0 {
			notes = append(notes, one.said+": "+listed(set.Levels, all))
		}
	}
	return notes
}

// mostListed is how many levels in a row are named one by one.
const mostListed = 4

// listed names levels by their indices, which ascend: "0 %, 5 %, 10 %", or "0 % to 65 % (14 levels)".
func listed(levels []float64, all []int) string {
	var parts []string
	for len(all) > 0 {
		n := 1
		for n < len(all) && all[n] == all[0]+n {
			n++
		}
		if n > mostListed {
			parts = append(parts, fmt.Sprintf("%s to %s (%d levels)", percent(levels[all[0]]), percent(levels[all[n-1]]), n))
		} else {
			for _, i := range all[:n] {
				parts = append(parts, percent(levels[i]))
			}
		}
		all = all[n:]
	}
	return strings.Join(parts, ", ")
}

// fineWhy says why a set has no small changes though they were played, which is after each cycle.
func (s *Setup) fineWhy(set *characteristic.Set) string {
	p, played := &s.Stand.Plan, false
	for i := range set.Readings {
		played = played || set.Readings[i].Cycle > 0
	}
	if !played || !s.Stand.Plays() || len(set.Fine) > 0 || len(p.FineAt) == 0 {
		return ""
	}
	var about []string
	for _, x := range p.FineAt {
		about = append(about, percent(x))
	}
	return "small changes about " + strings.Join(about, ", ") + " give no reading here; choose fine_at among the levels that were read"
}
