package plant

import "math"

// balance solves the loop of loads and accelerations by Newton's method on the
// accelerations: the forces are the loads times k, and the loads are linear in the
// accelerations until a wheel lifts. It sets the accelerations and loads and
// returns each load times its k. hx and hy are the forces over load times k in the
// car's axes.
//
// It starts from the accelerations that are there. It ends with a correction below 1e-9 m/s^2: it converges
// quadratically, so what is left then is below rounding.
func (m *Model) balance(vx float64, hx, hy *[4]float64) (p [4]float64) {
	k, f := &m.k, &m.force
	q := float64(vx * vx)
	drag := float64(k.drag * vx * math.Abs(vx))
	front, rear := k.staticFront+float64(q*k.liftFront), k.staticRear+float64(q*k.liftRear)
	base := [4]float64{front, front, rear, rear}
	cx := [4]float64{-k.pitch, -k.pitch, k.pitch, k.pitch}
	cy := [4]float64{-k.rollFront, k.rollFront, -k.rollRear, k.rollRear}

	ax, ay := f.ax, f.ay
	var slopes [4]float64
	var dx, dy float64
	for n := range 40 {
		// Residuals and their derivatives, times the mass.
		rx, ry := -drag-float64(k.mass*ax), -float64(k.mass*ay)
		xx, yy := k.mass, k.mass
		xy, yx := 0.0, 0.0
		for i := range 4 {
			load := base[i] + float64(cx[i]*ax) + float64(cy[i]*ay)
			grip := 1 + k.sensitivity - float64(k.perLoad*load)
			slope := grip - float64(k.perLoad*load)
			if load <= 0 {
				load, slope = 0, 0
			}
			if grip <= 0 {
				grip, slope = 0, 0
			}
			f.load[i], slopes[i] = load, slope
			load = float64(load * grip)
			p[i] = load
			rx += float64(load * hx[i])
			ry += float64(load * hy[i])
			sx, sy := slope*hx[i], slope*hy[i]
			xx -= float64(sx * cx[i])
			xy -= float64(sx * cy[i])
			yx -= float64(sy * cx[i])
			yy -= float64(sy * cy[i])
		}
		det := float64(xx*yy) - float64(xy*yx)
		dx = (float64(rx*yy) - float64(ry*xy)) / det
		dy = (float64(ry*xx) - float64(rx*yx)) / det
		if n >= 10 || !(det > 0) {
			// A wheel that lifts and lands in turn, in a car so high that it would
			// tip: halve the way to what the present loads give.
			dx, dy = rx*k.perMass/2, ry*k.perMass/2
		}
		ax += dx
		ay += dy
		if math.Abs(dx)+math.Abs(dy) < 1e-9 {
			break
		}
	}
	for i := range 4 { // the last correction, for loads and forces
		d := float64(cx[i]*dx) + float64(cy[i]*dy)
		if f.load[i] > 0 {
			f.load[i] = max(0, f.load[i]+d)
		}
		p[i] += float64(slopes[i] * d)
	}
	f.ax, f.ay = ax, ay
	return p
}
