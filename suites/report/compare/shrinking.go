package compare

import (
	"cmp"
	"fmt"
	"io"
	"slices"

	"hilrig/suites/record"
)

// mostShrinking is how many of the checks whose room shrinks are listed.
const mostShrinking = 5

// Shrinking is a check that passes in both records while its room to the limit shrank beyond what
// both leave open.
type Shrinking struct {
	*Change
	More int // other cases and steps of the suite in which the same check lost less of its room
}

// Shrinking lists the few checks that lost most of their room and pass all the same, each check of a suite
// once, the one that kept the least share of it first. A check that had no room counts for none.
func (c *Comparison) Shrinking() (all []Shrinking) {
	worst := map[[2]string]*Shrinking{}
	for i := range c.Changes {
		x := &c.Changes[i]
		if !x.shrinks() {
			continue
		}
		of := [2]string{x.Suite, x.Check}
		known := worst[of]
		if known == nil {
			worst[of] = &Shrinking{Change: x}
			continue
		}
		known.More++
		if x.kept() < known.kept() {
			known.Change = x
		}
	}
	for _, s := range worst {
		all = append(all, *s)
	}
	slices.SortFunc(all, func(a, b Shrinking) int {
		return cmp.Or(cmp.Compare(a.kept(), b.kept()), cmp.Compare(a.Suite, b.Suite), cmp.Compare(a.Check, b.Check))
	})
	return all[:min(len(all), mostShrinking)]
}

// shrinks says whether a check that still passes has less room than it had.
func (x *Change) shrinks() bool {
	return x.Kind == Worse && x.VerdictAfter == record.Pass && x.RoomBefore != nil && x.RoomAfter != nil && *x.RoomBefore > 0 && *x.RoomAfter < *x.RoomBefore
}

// kept is the share of its room that a check kept.
func (x *Change) kept() float64 { return *x.RoomAfter / *x.RoomBefore }

// Room writes from what to what the room went: "2.1 → 0.3 %".
func (x *Change) Room() string {
	return between(x.RoomBefore, x.RoomAfter, (*x.RoomBefore-*x.RoomAfter)/5, x.Unit)
}

// writeRoom lists the checks that lost most of their room and still pass.
func (c *Comparison) writeRoom(w io.Writer) {
	all := c.Shrinking()
	if len(all) == 0 {
		return
	}
	fmt.Fprintln(w, "these pass with less room than before:")
	for _, s := range all {
		more := ""
		if s.More > 0 {
			more = fmt.Sprintf("; and %d more of the suite", s.More)
		}
		fmt.Fprintf(w, "    least room %s  %s; %s%s\n", s.Room(), s.Where(), s.Of(), more)
	}
}
