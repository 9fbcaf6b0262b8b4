package board

import "hilrig/rig/signal"

// WheelInput is what a wheel's sensor is.
type WheelInput string

// The wheel sensors that the built-in controller reads.
const (
	Quadrature WheelInput = "quadrature" // lines front_left_a and front_left_b
	Tacho      WheelInput = "tacho"      // front_left_tacho, which does not tell the direction
	Duty       WheelInput = "duty"       // front_left_duty, the angle as a share of a period
)

// DutyInput says how a pulse tells the angle.
type DutyInput struct {
	Period      signal.Time // from pulse to pulse
	Least, Most float64     // shares of the period at angle 0 and at a whole turn
}

// OwnWheel is what may differ at one wheel's sensor.
type OwnWheel struct {
	Lines   int       // 0: EncoderLines
	Duty    DutyInput // with Wheels Duty; of period 0: WheelDuty
	Reverse bool      // the count falls as the wheel rolls forward
}

// duty returns what a wheel's pulses tell.
func (s *Settings) duty(wheel int) *DutyInput {
	if own := &s.Wheel[wheel].Duty; own.Period > 0 {
		return own
	}
	return &s.WheelDuty
}

// sense returns -1 where a wheel's count falls as it rolls forward.
func (s *Settings) sense(wheel int) float64 {
	if s.Wheel[wheel].Reverse {
		return -1
	}
	return 1
}

// least returns the least value of a constant that only a sensor of that sort needs.
func (s *Settings) least(of WheelInput, least float64) float64 {
	if s.Wheels == of {
		return least
	}
	return 0
}

// radPerCount returns the angle of one count of each encoder or tacho.
func (s *Settings) radPerCount() (angles [4]float64) {
	for i := range angles {
		lines := s.EncoderLines
		if own := s.Wheel[i].Lines; own > 0 {
			lines = own
		}
		counts := 4 * lines
		if s.Wheels == Tacho {
			counts = 2 * lines
		}
		angles[i] = 2 * 3.14159265358979323846 / float64(counts)
	}
	return angles
}

// wireWheels finds the lines of the wheels' sensors.
func (b *BuiltIn) wireWheels(idle func(name string, p pin) bool) {
	for i, wheel := range wheelNames {
		e := &b.encoders[i]
		switch b.settings.Wheels {
		case Tacho:
			idle(wheel+"_tacho", pin{tachoUnit, uint8(i), 0})
		case Duty:
			idle(wheel+"_duty", pin{dutyUnit, uint8(i), 0})
		default:
			if idle(wheel+"_a", pin{encoderUnit, uint8(i), bitA}) {
				e.state |= bitA
			}
			if idle(wheel+"_b", pin{encoderUnit, uint8(i), bitB}) {
				e.state |= bitB
			}
		}
	}
}

// pulse takes an edge of a tacho: the wheel has got on, forward.
func (e *encoder) pulse(at signal.Time) {
	e.count++
	e.at = at
	if e.count-e.from > 1 {
		e.gotOn, e.from = at, e.count
	}
}

// angleInput is the capture unit of one angle sensor.
type angleInput struct {
	rose   signal.Time
	angle  float64 // turns, of the last pulse
	known  bool    // there was one
	at     signal.Time
	turned float64 // turns since power-up
	from   float64 // when the wheel last got on

	// What the last readings found, the last at newest; and the speed that the last told, rad/s.
	past   [16]turnedAt
	newest int
	speed  float64
}

// turnedAt is how far a wheel had turned by the pulse of a time, in turns since power-up.
type turnedAt struct {
	at     signal.Time
	turned float64
}

// steadied is over what time at least an angle sensor's speed is read, where the readings reach back so far: a
// pulse tells the angle by steps, and within the time of few pulses a wheel turns by few of those.
const steadied = 10 * signal.Millisecond

// edge takes an edge of the sensor's line; e learns when the wheel gets on.
func (a *angleInput) edge(level bool, at signal.Time, d *DutyInput, e *encoder) {
	if level {
		a.rose = at
		return
	}
	share := float64(at-a.rose) / float64(d.Period)
	angle := (share - d.Least) / (d.Most - d.Least)
	if angle < -0.01 || angle > 1.01 {
		a.known = false // no pulse of this sensor
		return
	}
	if a.known && a.rose-a.at < 3*d.Period/2 {
		step := angle - a.angle
		switch {
		case step > 0.5:
			step--
		case step < -0.5:
			step++
		}
		a.turned += step
	}
	a.angle, a.at, a.known = angle, a.rose, true
	if on := a.turned - a.from; on > 0.002 || on < -0.002 {
		e.gotOn, a.from = at, a.turned
	}
}

// restart loses all that the pulses told.
func (a *angleInput) restart(at signal.Time) {
	*a = angleInput{}
	for i := range a.past {
		a.past[i].at = at
	}
}

// read works out the wheel's speed in rad/s, over the pulses of the last readings. Without
// any pulse for five periods the wheel is taken as standing.
func (a *angleInput) read(now signal.Time, d *DutyInput) float64 {
	if a.at > a.past[a.newest].at {
		a.newest = (a.newest + 1) % len(a.past)
		a.past[a.newest] = turnedAt{a.at, a.turned}
		since := a.before(a.at - steadied)
		a.speed = (a.turned - since.turned) * (2 * 3.14159265358979323846) / (a.at - since.at).Seconds()
	}
	if now-a.at > 5*d.Period {
		a.speed = 0
	}
	return a.speed
}

// before returns the newest of the readings that is not after a time, the oldest where none is.
func (a *angleInput) before(at signal.Time) (p turnedAt) {
	for i := 1; i < len(a.past); i++ {
		p = a.past[(a.newest-i+len(a.past))%len(a.past)]
		if p.at <= at {
			break
		}
	}
	return p
}
