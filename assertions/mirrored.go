package assertions

import (
	"fmt"

	"hilrig/assertions/measure"
)

// judge returns one result for each place in the turn. Where the case has no
// baseline the commands themselves are compared.
func (c Mirrored) judge(e *Evidence) []Result {
	results := make([]Result, 0, len(places))
	for _, place := range places {
		results = append(results, c.place(e, place))
	}
	return results
}

// place compares one place in the turn between both steps.
func (c Mirrored) place(e *Evidence, place Corner) Result {
	within := c.Within
	if within == 0 {
		within = e.deadShift()
	}
	name := string(place) + " mirrored"
	a, err := e.step(c.A)
	if err != nil {
		return unjudged(name, err)
	}
	other, err := e.step(c.B)
	if err != nil {
		return unjudged(name, err)
	}
	if a.Turn(e.policy())*other.Turn(e.policy()) != -1 {
		return unjudged(name, other.undecided("steps %q and %q are no mirror images: one has to turn left, the other right", a.Name, other.Name))
	}
	first, err := e.mirrorSide(place, a)
	if err != nil {
		return unjudged(name, err)
	}
	second, err := e.mirrorSide(place, other)
	if err != nil {
		return unjudged(name, err)
	}
	est, limit := measure.Difference(first, second), Limit{-within, within}
	r := found(name, fmt.Sprintf("%s in %q less %s in %q", place, a.Name, place, other.Name), est, nil, limit, other)
	return r.explained(fmt.Sprintf("%s moves by %s in %q but by %s in %q, which mirrors it: the board favours one side", place, share(first.Value), a.Name, share(second.Value), other.Name),
		remedy(est, limit, shorter(a, other), percent, " %"))
}

// mirrorSide returns what is compared of a place: its shift, or where there is
// no baseline its mean.
func (e *Evidence) mirrorSide(place Corner, s *Step) (measure.Estimate, error) {
	w, err := e.wheel(place, s)
	if err != nil {
		return measure.Estimate{}, err
	}
	if base, ok := e.Baseline(); ok && base != s {
		return e.shift(w, s, base)
	}
	return e.mean(w, s)
}
