package law

import (
	"math"

	"hilrig/assertions/measure"
)

// clearlyAsked is how many dead shifts a declared size has to be for a shift that saturates
// to be surely one: growing ever less, x/(1 + x/m) being the laziest common way with m as
// its bound, it has come to one dead shift where x and m are two.
const clearlyAsked = 2

// unbounded stands for the most that a shift may come to where nothing is declared of its size: far
// more than there is room for, share of range.
const unbounded = 1e6

// wholeRange is a shift from idle to full, share of range.
const wholeRange = 1.0

// sized says whether the policy declares the size of a shift.
func (l *Law) sized() bool {
	at := l.p.ShiftAt
	return at != nil && at.Error > 0 && at.Gain > 0
}

// amount returns the least and the most that a shift may come to for a size of the yaw error
// in rad/s and a gain, shares of range, of which only so much as fade says is to come, its tolerance included. A shift of more
// than the whole range may be cut to that before a share is taken of it, as firmware does whose numbers end there; and of one that grows less and
// less, or gathers up to some most, the share may be taken before as well as after.
func (l *Law) amount(yawError, gain, fade measure.Interval) measure.Interval {
	if !l.sized() {
		return both(measure.Interval{High: l.anything(yawError, gain)}, fade)
	}
	at := l.p.ShiftAt
	share := l.share(yawError)
	low, high := at.Is*share.Low*(gain.Low/at.Gain), at.Is*share.High*(gain.High/at.Gain)
	most := l.bound(math.Inf(1))
	switch at.Grows {
	case GrowthSaturating:
		return l.saturating(low, gain, share, fade, most)
	case GrowthIntegrating:
		if fade.High <= 0 {
			return measure.Interval{}
		}
		return measure.Interval{High: min(l.anything(yawError, gain), most)}
	}
	return both(measure.Interval{Low: min(max(low*(1-at.Within), 0), wholeRange), High: high * (1 + at.Within)}, fade)
}

// bound returns the most that a growing shift comes to on the wires, otherwise where the policy says none. It is declared with no
// tolerance of its own, and motors whose commands may stand apart are shifted apart by as much of it.
func (l *Law) bound(otherwise float64) float64 {
	at := l.p.ShiftAt
	if at == nil || !(at.Most > 0) {
		return otherwise
	}
	if apart := l.p.MotorsEqualWithin; apart != nil {
		return float64(at.Most * (1 + *apart))
	}
	return at.Most
}

// saturating returns the amount of a shift that grows less and less: through the declared
// point, so that it is the larger below it, or with the declared slope at its beginning.
func (l *Law) saturating(low float64, gain, share, fade measure.Interval, most float64) measure.Interval {
	at := l.p.ShiftAt
	i := measure.Interval{}
	if share.High > 0 && gain.High > 0 {
		whole := min(at.Is*max(share.High, 1)*max(gain.High/at.Gain, 1)*(1+at.Within), most)
		before := min(at.Is*max(share.High*fade.High, 1)*max(gain.High/at.Gain, 1)*(1+at.Within), l.steepest(most)*share.High*(gain.High/at.Gain)*fade.High, most)
		i.High = max(whole*fade.High, min(whole, before))
		if clear := clearlyAsked * l.dead; low*(1-at.Within) >= clear && most >= clear {
			i.Low = min(l.dead, whole) * fade.Low
		}
	}
	return i
}

// steepest returns what a shift that grows less and less would come to at the declared point, did it go on as it begins. One that is
// x/(1 + x/most), through the declared point, begins steeper than others of that kind, as the hyperbolic tangent.
func (l *Law) steepest(most float64) float64 {
	at := l.p.ShiftAt
	is := at.Is * (1 + at.Within)
	if nearly := 0.95 * most; is > nearly {
		is = nearly
	}
	return is / (1 - is/most)
}

// anything returns the most that a shift may come to where nothing is declared of its size.
func (l *Law) anything(yawError, gain measure.Interval) float64 {
	if gain.High <= 0 || l.share(yawError).High <= 0 {
		return 0
	}
	return unbounded
}

// share returns what share of the declared shift is asked for at a size of the yaw error:
// none within the dead band; beyond it in proportion to the error, or to what the
// error exceeds the band by.
func (l *Law) share(yawError measure.Interval) measure.Interval {
	whole := 1.0
	if l.sized() {
		whole = l.p.ShiftAt.Error
	}
	band := 0.0
	if b := l.p.DeadBand; b != nil {
		band = *b
	}
	if !(band > 0) {
		return measure.Interval{Low: yawError.Low / whole, High: yawError.High / whole}
	}
	i := measure.Interval{}
	if yawError.Low > band {
		i.Low = yawError.Low / whole
		if whole > band {
			i.Low = min(i.Low, (yawError.Low-band)/(whole-band))
		}
	}
	if yawError.High > band {
		i.High = yawError.High / whole
		if whole > band {
			i.High = max(i.High, (yawError.High-band)/(whole-band))
		}
	}
	return i
}
