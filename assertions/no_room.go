package assertions

import (
	"fmt"

	"hilrig/plant"
)

// noRoom says why a motor that was meant to be moved need not be, from where it stood in the baseline: it stands at an end of its range,
// or its shift may take it past one, which is a cap or a floor that firmware may have where the policy leaves it out as well. Where the
// shift that is held does not come so far, it is what the wires still told of something before.
func (v *view) noRoom(b *branch, w plant.Wheel, m side) string {
	end, most, past, undeclared := v.ends.Low, -v.bare[w].Low, "below", b.endUndeclared(false) != ""
	room := v.from[w] - end
	if m.is == Raised {
		end, most, past, undeclared = v.ends.High, v.bare[w].High, "beyond", b.endUndeclared(true) != ""
		room = end - v.from[w]
	}
	stood := fmt.Sprintf("%s stood at %s in the baseline", called(m.corner, w), share(v.from[w]))
	if room <= b.e.deadShift() {
		return fmt.Sprintf("%s, which leaves it no room to be %s: %s", stood, m.is, b.countsOnThrottle())
	}
	shift, why, declare := "a shift of up to "+share(most), "", ""
	if !b.bounded() {
		shift = "a shift of which no size is declared"
	}
	if undeclared {
		key := "floor"
		if m.is == Raised {
			key = "cap"
		}
		why, declare = fmt.Sprintf(", where firmware may have a %s that the policy does not declare", key), ", or declare the "+key
	}
	then := "and by the policy's " + b.wordAt(m.is).String() + " it need not move then"
	if b.wordAt(m.is) == 0 {
		then = "and the policy does not say what becomes of it then"
	}
	if b.bounded() && most+b.e.deadShift() < room {
		return fmt.Sprintf("%s, and by what went out at some moment shortly before its commands the policy has it come to %s, %s: let what is held settle for longer", stood, share(end), then)
	}
	return fmt.Sprintf("%s, from where %s may take it %s %s%s, %s: %s%s", stood, shift, past, share(end), why, then, b.countsOnThrottle(), declare)
}
