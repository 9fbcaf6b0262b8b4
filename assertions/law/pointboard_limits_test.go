package law_test

import (
	"math"
	"slices"

	"hilrig/assertions/law"
)

// apply adds the shifts within the limits.
func (b *pointBoard) apply(from, by, signs [4]float64, low, high float64) (c [4]float64) {
	dead := b.p.DeadShiftFor(b.scale.Step)
	base := from
	for i := range base {
		if b.cut == law.CapBeforeShift {
			base[i] = min(base[i], high)
		}
		if b.ignoresSmall && by[i] < dead {
			by[i], signs[i] = 0, 0
		}
	}
	by = b.atLimits(base, by, signs, low, high)
	for i := range c {
		c[i] = base[i] + signs[i]*by[i]
		if signs[i] == 0 {
			c[i] += b.rest[i]
		}
		c[i] = min(max(c[i], low), high)
	}
	b.sum(&c, low)
	return c
}

// spin cuts the motors of wheels that spin, and brings commands to the resolution.
func (b *pointBoard) spin(x *point, c *[4]float64, low, high float64) {
	off := b.scale.Step
	if b.p.Resolution != nil {
		off = max(off, *b.p.Resolution)
	}
	slowest := math.Inf(1)
	for _, w := range x.wheels {
		slowest = min(slowest, math.Abs(w))
	}
	for i := range c {
		least := max(low-b.scale.Step, b.scale.Lowest)
		if t := b.p.TractionControl; t != nil && x.hasWheels && math.Abs(x.wheels[i]) > slowest*(1+*t*(1+0.1999*b.near)) {
			c[i] = b.scale.Lowest + b.slip[i]*(c[i]-b.scale.Lowest)
			least = b.scale.Lowest
		}
		c[i] = min(max(c[i]+off*b.off[i], least), high+b.scale.Step, 1)
	}
}

// atLimits does what is to be done where a motor comes to its cap or its floor.
func (b *pointBoard) atLimits(base, by, signs [4]float64, low, high float64) [4]float64 {
	counts := [2]bool{high < 1 || b.p.Cap != nil && b.p.Cap.Of >= 1 || b.atPlainEnd || b.atCap == law.LimitCap,
		low > b.scale.Lowest || b.p.Floor != nil && *b.p.Floor <= b.scale.Lowest || b.atPlainEnd || b.atFloor == law.LimitCap}
	var limited [4]bool
	var some [2]bool
	factor := 1.0
	for i := range by {
		room, k, word := high-base[i], 0, b.atCap
		if signs[i] < 0 {
			room, k, word = base[i]-low, 1, b.atFloor
		}
		if signs[i] == 0 || !(by[i] > room) || !counts[k] {
			continue
		}
		limited[i], some[k] = true, true
		if word == law.LimitScale {
			factor = min(factor, max(room, 0)/by[i])
		}
	}
	moved := by
	for i := range by {
		own, partner, k := b.atCap, b.atFloor, 1
		if signs[i] < 0 {
			own, partner, k = b.atFloor, b.atCap, 0
		}
		if some[k] && signs[i] != 0 && (partner == law.LimitMovePartner || partner == law.LimitPartnerOnly) {
			moved[i] = 2 * by[i]
		}
		if limited[i] && own == law.LimitPartnerOnly {
			moved[i] = 0
		}
		if factor < 1 {
			moved[i] = factor * by[i]
		}
	}
	return moved
}

// sum keeps the sum of the commands.
func (b *pointBoard) sum(c *[4]float64, low float64) {
	most := b.p.SumCap
	if most == nil {
		return
	}
	sum := c[0] + c[1] + c[2] + c[3]
	if sum <= *most {
		return
	}
	for i := range c {
		switch b.sumScaled {
		case 0:
			c[i] *= *most / sum
		case 1:
			c[i] -= (sum - *most) / 4
		}
		c[i] = max(c[i], low)
	}
	for range c { // what is still too much comes off the highest
		k := slices.Index(c[:], slices.Max(c[:]))
		c[k] = max(c[k]-max(c[0]+c[1]+c[2]+c[3]-*most, 0), low)
	}
}
