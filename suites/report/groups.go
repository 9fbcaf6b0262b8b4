package report

import (
	"math"

	"hilrig/suites/record"
)

// Group is the variants of one case that were played: what one line of the
// output is about.
type Group struct {
	Name   string
	Counts record.Counts
	Checks []*record.Check // that were asked
}

// Unplayed counts the cases of a suite that were not played for one reason.
type Unplayed struct {
	Reason string // "skipped, may be played up to signals_only"
	Cases  int
}

// Groups puts a suite's cases together by their names, in the order of the
// first of each, and apart from them by their reasons those not played.
func Groups(s *record.Suite) (played []*Group, left []*Unplayed) {
	named := map[string]*Group{}
	reasons := map[string]*Unplayed{}
	for i := range s.Cases {
		c := &s.Cases[i]
		if c.Verdict == record.NotRun || c.Verdict == record.Skipped {
			reason := c.Verdict + ", " + c.Why
			if reasons[reason] == nil {
				reasons[reason] = &Unplayed{Reason: reason}
				left = append(left, reasons[reason])
			}
			reasons[reason].Cases++
			continue
		}
		if named[c.Name] == nil {
			named[c.Name] = &Group{Name: c.Name}
			played = append(played, named[c.Name])
		}
		named[c.Name].add(c)
	}
	return played, left
}

// add takes a played case into the group.
func (g *Group) add(c *record.Case) {
	g.Counts.Add(c)
	for i := range c.Checks {
		if c.Checks[i].Verdict != record.NotAsked {
			g.Checks = append(g.Checks, &c.Checks[i])
		}
	}
}

// Closest returns the passed check that came nearest to its limit, measured by the size of
// the limit, and how far its interval stands inside that limit; nil where none has a limit.
func (g *Group) Closest() (nearest *record.Check, left float64) {
	least := math.Inf(1)
	for _, c := range g.Checks {
		inside, near, ok := Room(c)
		if !ok || c.Verdict != record.Pass {
			continue
		}
		share := inside / math.Abs(near)
		if near == 0 {
			share = inside / reach(c)
		}
		if share < least {
			least, nearest, left = share, c, inside
		}
	}
	return nearest, left
}

// reach is how far from 0 a check's interval goes; an end that is open is left out.
func reach(c *record.Check) float64 {
	most := 0.0
	for _, end := range []*float64{c.Low, c.High} {
		if end != nil {
			most = max(most, math.Abs(*end))
		}
	}
	return most
}

// Room returns how far a check's interval stands inside its limit, in its unit,
// and the nearer of the two limits. ok is false where there is no limit, no
// interval or nothing was measured.
func Room(c *record.Check) (left, near float64, ok bool) {
	if !c.Measured() {
		return 0, 0, false
	}
	left = math.Inf(1)
	if c.LimitLow != nil && c.Low != nil {
		left, near, ok = *c.Low-*c.LimitLow, *c.LimitLow, true
	}
	if c.LimitHigh != nil && c.High != nil && *c.LimitHigh-*c.High < left {
		left, near, ok = *c.LimitHigh-*c.High, *c.LimitHigh, true
	}
	return left, near, ok
}
