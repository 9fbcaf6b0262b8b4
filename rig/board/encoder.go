package board

import "hilrig/rig/signal"

// steps holds the change of count for each pair of old and new levels, as bits
// old A, old B, new A, new B. A leads B when the wheel rolls forward. Where both
// levels change at once, the direction is unknown and nothing is counted.
var steps = [16]int8{
	0, -1, 1, 0,
	1, 0, 0, -1,
	-1, 0, 0, 1,
	0, 1, -1, 0,
}

// The bits of an encoder's two lines in its state.
const (
	bitB = 1
	bitA = 2
)

// encoder is the capture unit of one wheel: it counts edges and keeps the time
// of the last one.
type encoder struct {
	at    signal.Time // of the last edge
	count int32       // wraps
	state uint8       // levels of A and B

	// When the wheel last got on: with one line broken, the other's edges count
	// one up and one down again for ever.
	gotOn signal.Time
	from  int32 // count then

	// As the last reading left them.
	readAt    signal.Time
	readCount int32
	speed     float64 // rad/s
}

// edge takes a change of one of the lines.
func (e *encoder) edge(bit uint8, level bool, at signal.Time) {
	old := e.state
	state := old &^ bit
	if level {
		state |= bit
	}
	e.count += int32(steps[(old<<2|state)&15])
	e.state = state
	e.at = at
	if on := e.count - e.from; on > 1 || on < -1 {
		e.gotOn, e.from = at, e.count
	}
}

// read works out the wheel's speed in rad/s: counts since the last reading
// over the time between the last edge then and the last edge now. Where the wheel turned
// back in between, the first edge comes sooner or later than by a whole count, and no speed is told until the next.
// Without an edge the speed is at most one count over the time since the last.
func (e *encoder) read(now signal.Time, radPerCount float64) float64 {
	n := e.count - e.readCount
	span := e.at - e.readAt
	switch {
	case float64(n)*e.speed < 0:
		e.speed = 0
	case n != 0 && span > 0:
		e.speed = float64(n) * radPerCount / span.Seconds()
	case now > e.at:
		most := radPerCount / (now - e.at).Seconds()
		e.speed = min(max(e.speed, -most), most)
	}
	e.readCount, e.readAt = e.count, e.at
	return e.speed
}

// restart loses everything but the levels on the pins.
func (e *encoder) restart(at signal.Time) {
	*e = encoder{state: e.state, at: at, gotOn: at, readAt: at}
}
