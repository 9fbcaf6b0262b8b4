package assertions

import (
	"fmt"

	"hilrig/assertions/law"
)

// reverse plans a step in which the car rolls backwards.
func (b *branch) reverse() []ask {
	if b.p.Reverse == law.ReverseNoShift {
		return b.noShift()
	}
	split := b.p.Understeer
	if in := b.s.situation(); in == oversteering {
		split = b.p.Oversteer
	}
	if split != nil && b.p.Reverse == law.ReverseMirrored {
		split = &law.Split{Raise: endForEnd(split.Raise), Lower: endForEnd(split.Lower), Front: split.Rear, Rear: split.Front, Varies: split.Varies}
	}
	return b.split(split)
}

// otherEnd is each corner at the other end of the car.
var otherEnd = map[law.Corner]law.Corner{
	law.FrontLeft: law.RearLeft, law.RearLeft: law.FrontLeft, law.FrontRight: law.RearRight, law.RearRight: law.FrontRight,
	law.OutsideFront: law.OutsideRear, law.OutsideRear: law.OutsideFront, law.InsideFront: law.InsideRear, law.InsideRear: law.InsideFront,
}

// endForEnd returns corners with front and rear exchanged.
func endForEnd(corners []law.Corner) []law.Corner {
	out := make([]law.Corner, len(corners))
	for i, c := range corners {
		out[i] = c
		if other, ok := otherEnd[c]; ok {
			out[i] = other
		}
	}
	return out
}

// straight plans a step in which the car goes nearly straight on: below where the shift comes
// in there is none.
func (b *branch) straight() []ask {
	d := b.meant(b.s)
	if d.missing != "" || d.widest() == 0 {
		return b.noShift()
	}
	return b.notAsked(fmt.Sprintf("the policy's straight does not keep the shift away in this step, with %s deg of steering and a demand of %s deg/s", degrees(b.s.Steer), degrees(b.s.Demand)))
}
