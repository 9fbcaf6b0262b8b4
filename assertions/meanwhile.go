package assertions

import (
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// meanwhile is what a board may do, and what it has to, at a time of a case beside driving by what goes out: by the
// lapses that there were. A zero value is a case in which nothing ever was wrong.
type meanwhile struct {
	since                  string // the last lapse that counts, for a sentence; "": none
	may, must              bool   // it stops the motors
	mayNotShift, notShifts bool   // it shifts nothing, and the throttle drives on
	anything               bool   // nothing is said of it
	back                   bool   // inputs have just come back, or go on while they are not believed: it may still go by older ones
	fresh                  inputs // inputs of which a filter may begin from nothing
	cutOpen                bool   // the steering that a cap goes by is not known to it
	gains                  []float64
	onlyGain               bool // it has to take one of gains
	lost, broken           [4]bool
}

// at returns what holds at a time, up to the next of cuts.
func at(all []lapse, t signal.Time) (m meanwhile) {
	for i := range all {
		if l := &all[i]; l.from <= t {
			m.take(l, t)
		}
	}
	return m
}

// take brings in one lapse that began before a time.
func (m *meanwhile) take(l *lapse, t signal.Time) {
	over, coming := t >= l.end, t < l.end+answered
	if coming {
		m.back = m.back || over || l.kind != nil && (l.kind.key == "receiver_flag" || l.kind.key == "sequence_frozen")
		for i := range l.lost {
			m.lost[i], m.broken[i] = m.lost[i] || l.lost[i], m.broken[i] || l.broken[i]
		}
		if over || l.kind == nil {
			m.fresh |= l.of
		}
		m.cutOpen = m.cutOpen || l.of&steerInput != 0
	}
	if l.kind == nil {
		m.since, m.may = "power-up", true
		return
	}
	if coming {
		m.since = l.kind.key
	}
	if l.loss == nil {
		m.anything = m.anything || coming
		return
	}
	due := t >= l.due && t < l.free && l.due < l.end
	switch l.loss.Then {
	case law.LossIdle:
		m.since, m.may, m.must = l.kind.key, true, m.must || due
	case law.LossNoShift:
		m.since, m.mayNotShift, m.notShifts = l.kind.key, true, m.notShifts || due
	case law.LossValue:
		m.since, m.gains, m.onlyGain = l.kind.key, append(m.gains, l.loss.Value), m.onlyGain || due
	}
}

// inputs widens what went out by what a board may take instead of it.
func (m *meanwhile) inputs(in *law.Inputs) {
	for _, x := range [...]struct {
		of inputs
		is *Limit
	}{{steerInput, &in.Steer}, {throttleInput, &in.Throttle}, {gainInput, &in.Gain}, {yawInput, &in.YawRate}, {wheelInputs, &in.Speed}} {
		if m.fresh&x.of != 0 {
			x.is.Include(0)
		}
	}
	if m.fresh&throttleInput != 0 {
		for i := range in.Unshifted {
			in.Unshifted[i].Include(0)
		}
	}
	if len(m.gains) > 0 {
		if m.onlyGain {
			in.Gain = between(m.gains[0], m.gains[0])
		}
		in.Gain.Include(m.gains...)
	}
	m.wheels(in)
}

// wheels widens what the wheels tell where some tell nothing: one that is lost may stand, or go as fast as any other; one
// with a broken line may as well turn back.
func (m *meanwhile) wheels(in *law.Inputs) {
	all := between(0, 0)
	for _, w := range in.Wheels {
		all.Include(w.Low, w.High)
	}
	for i := range in.Wheels {
		switch {
		case m.lost[i]:
			in.Silent[i] = true
			in.Wheels[i].Include(all.Low, all.High)
			in.Speed.Include(0)
			if m.broken[i] {
				in.Wheels[i].Include(-all.High, -all.Low)
			}
		case m.fresh&wheelInputs != 0:
			in.Wheels[i].Include(0)
		}
	}
}

// allowed returns what a motor may be commanded, where the law says answer of inputs and bare of what the
// motors are commanded with no shift.
func (m *meanwhile) allowed(e *Evidence, w plant.Wheel, answer *law.Answer, bare, cut Limit, mayCut bool) Limit {
	drives := answer.Commands[w]
	if m.anything {
		drives = between(e.Lowest, 1)
	}
	off := e.offBy()
	none := between(min(bare.Low, cut.Low)-off, max(bare.High, cut.High)+off)
	if mayCut {
		none.Include(e.Lowest)
	}
	switch {
	case m.must:
		return between(0, 0)
	case m.notShifts:
		drives = none
	case m.mayNotShift || m.may:
		drives.Include(none.Low, none.High)
	}
	if m.may {
		drives.Include(0)
	}
	return drives
}
