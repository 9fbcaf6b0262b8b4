package plant

import (
	"math"

	"hilrig/plant/portable"
)

// contact is what one evaluation finds at the wheels.
type contact struct {
	wx, wy [4]float64 // m/s, velocity of the hub along and across the wheel
	sx, sy [4]float64 // slips
	gx, gy [4]float64 // force along and across the wheel, over load and k
	load   [4]float64 // N
	torque [4]float64 // N m
	ax, ay float64    // m/s^2
}

// rates finds the rates of change d of the motion s and dm of the motors' torques.
func (m *Model) rates(s *motion, motor *[4]float64, t *turn, d *motion, dm *[4]float64) {
	k, f := &m.k, &m.force
	vx, vy, yaw := s[iVx], s[iVy], s[iYaw]

	// Velocities of the hubs, turned into the wheels' directions.
	uf, ur := float64(yaw*k.halfFront), float64(yaw*k.halfRear)
	vf, vr := vy+float64(yaw*k.frontAxle), vy-float64(yaw*k.rearAxle)
	ul, urt := vx-uf, vx+uf
	f.wx = [4]float64{
		float64(ul*t.cos[0]) + float64(vf*t.sin[0]),
		float64(urt*t.cos[1]) + float64(vf*t.sin[1]),
		vx - ur, vx + ur,
	}
	f.wy = [4]float64{
		float64(vf*t.cos[0]) - float64(ul*t.sin[0]),
		float64(vf*t.cos[1]) - float64(urt*t.sin[1]),
		vr, vr,
	}
	m.slips(s)
	if m.bumped {
		m.unload()
	}

	// Forces over the load, in the car's axes.
	var hx, hy [4]float64
	for i := range 2 {
		hx[i] = float64(f.gx[i]*t.cos[i]) - float64(f.gy[i]*t.sin[i])
		hy[i] = float64(f.gx[i]*t.sin[i]) + float64(f.gy[i]*t.cos[i])
	}
	hx[2], hx[3], hy[2], hy[3] = f.gx[2], f.gx[3], f.gy[2], f.gy[3]

	p := m.balance(vx, &hx, &hy)

	left, right := float64(p[0]*hx[0]), float64(p[1]*hx[1])
	rearLeft, rearRight := float64(p[2]*hx[2]), float64(p[3]*hx[3])
	front, rear := float64(p[0]*hy[0])+float64(p[1]*hy[1]), float64(p[2]*hy[2])+float64(p[3]*hy[3])
	moment := (float64(k.frontAxle*front) - float64(k.rearAxle*rear)) +
		(float64(k.halfFront*(right-left)) + float64(k.halfRear*(rearRight-rearLeft)))

	sin, cos := portable.SinCos(s[iHeading])
	d[iVx] = f.ax + float64(yaw*vy)
	d[iVy] = f.ay - float64(yaw*vx)
	d[iYaw] = moment * k.perYawInertia
	d[iHeading] = yaw
	d[iX] = float64(vx*cos) - float64(vy*sin)
	d[iY] = float64(vx*sin) + float64(vy*cos)

	f.torque = m.in.Torque
	if k.motor {
		m.torques(s, motor, dm)
	}
	for i := range 4 {
		d[iWheel+i] = (f.torque[i] - float64(k.radius*float64(p[i]*f.gx[i]))) * k.perWheelInertia
	}
}

// unload takes the share of their grip from wheels that a bump throws up.
func (m *Model) unload() {
	for i := range 4 {
		held := 1 - m.in.Unload[i]
		m.force.gx[i] *= held
		m.force.gy[i] *= held
	}
}

// torques finds the motors' torques and, with a lag, their rates of change.
func (m *Model) torques(s *motion, motor, dm *[4]float64) {
	for i := range 4 {
		t := m.car.Motor.torque(m.in.Command[i], s[iWheel+i])
		if m.k.lagging {
			dm[i] = (t - motor[i]) * m.k.perLag
			t = motor[i]
		}
		m.force.torque[i] = t
	}
}

// slips finds the slips and from them the forces over load and k.
func (m *Model) slips(s *motion) {
	k, f := &m.k, &m.force
	var nx, ny, n [4]float64
	for i := range 4 {
		rim := float64(k.radius * s[iWheel+i])
		speed := math.Abs(rim)
		if speed < SlipFloor {
			speed = SlipFloor
		}
		per := 1 / speed
		sx, sy := (rim-f.wx[i])*per, f.wy[i]*per
		f.sx[i], f.sy[i] = sx, sy
		sx *= k.perPeakX
		sy *= k.perPeakY
		r := math.Sqrt(float64(sx*sx) + float64(sy*sy))
		nx[i], ny[i], n[i] = sx, sy, r
		m.mf[i], m.mf[4+i] = k.bx*r, k.by*r
	}
	if k.curved {
		a := m.mf
		portable.Atan8(&a)
		for i := range 4 {
			m.mf[i] -= float64(k.ex * (m.mf[i] - a[i]))
			m.mf[4+i] -= float64(k.ey * (m.mf[4+i] - a[4+i]))
		}
	}
	portable.Atan8(&m.mf)
	for i := range 4 {
		m.mf[i] *= k.cx
		m.mf[4+i] *= k.cy
	}
	portable.Sin8(&m.mf)
	for i := range 4 {
		if n[i] < 1e-100 { // no slip, no force; the quotient would be 0/0
			f.gx[i], f.gy[i] = 0, 0
			continue
		}
		per := 1 / n[i]
		f.gx[i] = k.mux * m.mf[i] * (nx[i] * per)
		f.gy[i] = -k.muy * m.mf[4+i] * (ny[i] * per)
	}
}
