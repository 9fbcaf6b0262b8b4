package law

import "hilrig/plant"

// Corner names a motor either by its wheel or by its place in the turn.
type Corner string

// The corners. Outside is the side away from the centre of the turn that the
// car is making: right when the yaw rate is positive.
const (
	FrontLeft    Corner = "front_left"
	FrontRight   Corner = "front_right"
	RearLeft     Corner = "rear_left"
	RearRight    Corner = "rear_right"
	OutsideFront Corner = "outside_front"
	InsideFront  Corner = "inside_front"
	OutsideRear  Corner = "outside_rear"
	InsideRear   Corner = "inside_rear"
)

// Corners lists every word for a corner.
var Corners = []Corner{FrontLeft, FrontRight, RearLeft, RearRight, OutsideFront, InsideFront, OutsideRear, InsideRear}

// Places are the four places in a turn.
var Places = Corners[4:]

// wheels are what each corner names in a turn to the left and in one to the right.
var wheels = map[Corner]struct{ left, right plant.Wheel }{
	FrontLeft:    {plant.FrontLeft, plant.FrontLeft},
	FrontRight:   {plant.FrontRight, plant.FrontRight},
	RearLeft:     {plant.RearLeft, plant.RearLeft},
	RearRight:    {plant.RearRight, plant.RearRight},
	OutsideFront: {plant.FrontRight, plant.FrontLeft},
	InsideFront:  {plant.FrontLeft, plant.FrontRight},
	OutsideRear:  {plant.RearRight, plant.RearLeft},
	InsideRear:   {plant.RearLeft, plant.RearRight},
}

// Wheel returns the wheel that c names in a turn to the left (turn > 0) or to
// the right (turn < 0). With turn 0 there is no outside: a place in the turn
// is then taken as for a turn to the left. ok is false where c is no corner.
func (c Corner) Wheel(turn int) (w plant.Wheel, ok bool) {
	in, ok := wheels[c]
	if turn < 0 {
		return in.right, ok
	}
	return in.left, ok
}

// PlaceOf returns the place in the turn of a wheel; its own name where turn is 0.
func PlaceOf(w plant.Wheel, turn int) Corner {
	if turn != 0 {
		for _, c := range Places {
			if at, _ := c.Wheel(turn); at == w {
				return c
			}
		}
	}
	return Corner(w.String())
}
