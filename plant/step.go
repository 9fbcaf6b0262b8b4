package plant

import "math"

// Step goes dt (s, positive) on with the input held: one classical Runge-Kutta step
// of fourth order, or several equal ones when a wheel turns so slowly that its slip
// would not be followed. It does not allocate.
func (m *Model) Step(in Input, dt float64) {
	for i, c := range in.Command {
		in.Command[i] = max(-1, min(1, c))
	}
	m.bumped = false
	for i, u := range in.Unload {
		in.Unload[i] = max(0, min(1, u))
		m.bumped = m.bumped || u > 0
	}
	m.in = in
	s := &m.now
	slowest := math.Abs(s[iWheel])
	for i := iWheel + 1; i < motionSize; i++ {
		slowest = min(slowest, math.Abs(s[i]))
	}
	parts := m.k.parts(m.k.radius*slowest, math.Abs(s[iVx]), dt)
	h := dt
	if parts > 1 {
		h = dt / float64(parts)
	}
	turns := [3]turn{m.turned(m.steer, 0)}
	turns[1], turns[2] = turns[0], turns[0]
	for range parts {
		if m.k.servo {
			turns[0] = m.turned(m.steer, 0)
			turns[1] = m.turned(m.steer, h/2)
			turns[2] = m.turned(m.steer, h)
		}
		m.rungeKutta(&turns, h)
		if m.k.servo {
			m.steer = m.car.Servo.angle(m.steer, in.Steer, h)
		} else {
			m.steer = in.Steer
		}
	}
}

// rungeKutta goes h on, with the front wheels' angles at its beginning, middle and
// end.
func (m *Model) rungeKutta(turns *[3]turn, h float64) {
	var k, at, sum motion
	var mk, mAt, mSum [4]float64
	half, sixth := h/2, h/6
	m.force.ax, m.force.ay = 0, 0 // so that the past leaves no trace

	m.rates(&m.now, &m.motor, &turns[0], &k, &mk)
	for i := range k {
		sum[i] = k[i]
		at[i] = m.now[i] + float64(half*k[i])
	}
	if m.k.lagging {
		for i := range mk {
			mSum[i] = mk[i]
			mAt[i] = m.motor[i] + float64(half*mk[i])
		}
	}

	m.rates(&at, &mAt, &turns[1], &k, &mk)
	for i := range k {
		sum[i] += float64(2 * k[i])
		at[i] = m.now[i] + float64(half*k[i])
	}
	if m.k.lagging {
		for i := range mk {
			mSum[i] += float64(2 * mk[i])
			mAt[i] = m.motor[i] + float64(half*mk[i])
		}
	}

	m.rates(&at, &mAt, &turns[1], &k, &mk)
	for i := range k {
		sum[i] += float64(2 * k[i])
		at[i] = m.now[i] + float64(h*k[i])
	}
	if m.k.lagging {
		for i := range mk {
			mSum[i] += float64(2 * mk[i])
			mAt[i] = m.motor[i] + float64(h*mk[i])
		}
	}

	m.rates(&at, &mAt, &turns[2], &k, &mk)
	for i := range k {
		m.now[i] += float64(sixth * (sum[i] + k[i]))
	}
	if m.k.lagging {
		for i := range mk {
			m.motor[i] += float64(sixth * (mSum[i] + mk[i]))
		}
	}
}
