package board

import "hilrig/rig/signal"

// pulseInput is the capture unit of one receiver channel, on a timer that
// counts whole microseconds.
type pulseInput struct {
	idle        bool // level between pulses
	least, most int64

	rising bool  // a pulse has begun
	rose   int64 // us
	width  int64 // us, of the last pulse within least..most
	at     signal.Time
	seen   bool        // there was such a pulse
	change int64       // us, from the pulse before to the last
	apart  signal.Time // and their distance in time
}

// edge takes a change of the line.
func (p *pulseInput) edge(level bool, at signal.Time) {
	us := int64(at / signal.Microsecond)
	if level != p.idle {
		p.rising, p.rose = true, us
		return
	}
	if !p.rising {
		return
	}
	p.rising = false
	p.accept(us-p.rose, at)
}

// accept notes a pulse of width us, complete at the given time, where it is one that can be.
func (p *pulseInput) accept(width int64, at signal.Time) {
	if width >= p.least && width <= p.most {
		p.change, p.apart = 0, 0
		if p.seen {
			p.change, p.apart = width-p.width, at-p.at
		}
		p.width, p.at, p.seen = width, at, true
	}
}

// refresh has the last width stand anew.
func (p *pulseInput) refresh(at signal.Time) {
	if p.seen {
		p.at, p.change, p.apart = at, 0, 0
	}
}

// fresh reports whether the last pulse is at most limit old.
func (p *pulseInput) fresh(now, limit signal.Time) bool {
	return p.seen && now-p.at <= limit
}

// share returns the width's place between low and high, clipped to least..1.
func (p *pulseInput) share(low, high signal.Time, least float64) float64 {
	lo, hi := int64(low/signal.Microsecond), int64(high/signal.Microsecond)
	return min(max(float64(p.width-lo)/float64(hi-lo), least), 1)
}

// speed returns how fast the width changed with the last pulse, us per s. A change by one step of
// the timer is none.
func (p *pulseInput) speed() float64 {
	if p.apart <= 0 || p.change >= -1 && p.change <= 1 {
		return 0
	}
	return float64(p.change) / p.apart.Seconds()
}

func (p *pulseInput) restart() {
	*p = pulseInput{idle: p.idle, least: p.least, most: p.most}
}
