package moment

import "hilrig/rig/signal"

const (
	channels     = 16
	receiverSize = 25
	receiverHead = 0x0F

	// Bits of the byte of flags.
	flagFrameLost = 1 << 2
	flagFailsafe  = 1 << 3

	// A byte that comes so long after the last one begins a frame.
	receiverGap = signal.Millisecond
)

// receiver takes the frames of the receiver's bus.
type receiver struct {
	uart     uart
	frame    [receiverSize]byte
	n        int // bytes of the frame so far; below 0: it is corrupt
	last     signal.Time
	channel  [channels]uint16
	any      bool        // a good frame has come since power-up
	good     signal.Time // when the last one did
	failsafe bool        // the last frame said that the transmitter is out of reach
}

// newReceiver returns a receiver of whose pin the level is known.
func newReceiver(inverted, level bool) receiver {
	return receiver{uart: newUART(100_000, true, inverted, level)}
}

// look reads the bit that is due. With trusting set, what the flags say does not count.
func (r *receiver) look(trusting bool) {
	at, data, good, ended := r.uart.look()
	if !ended {
		return
	}
	if at-r.last > receiverGap {
		r.n = 0
	}
	r.last = at
	switch {
	case r.n < 0 || r.n == receiverSize:
		return
	case !good:
		r.n = -1
		return
	}
	r.frame[r.n] = data
	if r.n++; r.n == receiverSize {
		r.accept(at, trusting)
	}
}

// accept uses a whole frame. One that the receiver itself calls lost has channels of old.
func (r *receiver) accept(at signal.Time, trusting bool) {
	flags, end := r.frame[receiverSize-2], r.frame[receiverSize-1]
	if r.frame[0] != receiverHead || end&0x0F != 0 && end&0x0F != 4 {
		return
	}
	if !trusting {
		r.failsafe = flags&flagFailsafe != 0
		if r.failsafe || flags&flagFrameLost != 0 {
			return
		}
	}
	var bits uint32
	var have, from uint
	for i := range r.channel {
		for have < 11 {
			from++
			bits |= uint32(r.frame[from]) << have
			have += 8
		}
		r.channel[i] = uint16(bits & 0x7FF)
		bits >>= 11
		have -= 11
	}
	r.any, r.good = true, at
}

// radio is what the driver asks for.
type radio struct {
	lost     bool    // the receiver is, or says so
	steer    float64 // rad
	throttle float64 // share; 0 at idle
	gain     float64 // 0, 1/2 or 1
}

// read returns what the receiver says at a time.
func (r *receiver) read(at signal.Time, s *Settings) radio {
	rc := radio{lost: !r.any || r.failsafe || at-r.good > s.ReceiverTimeout}
	if !r.any {
		return rc
	}
	count := func(number int) float64 { return float64(r.channel[number-1]) }
	rc.steer = (count(s.SteerChannel) - s.SteerCentre) * s.SteerPerCount
	rc.throttle = min((count(s.ThrottleChannel)-s.ThrottleIdle)/(s.ThrottleFull-s.ThrottleIdle), 1)
	if rc.throttle < s.IdleBelow {
		rc.throttle = 0
	}
	rc.gain = gainOf(count(s.GainChannel), s)
	return rc
}

// gainOf returns what the switch on the gain channel is set to.
func gainOf(count float64, s *Settings) float64 {
	switch {
	case s.has(gainContinuous):
		// The middle of each third is where the steps would be.
		half := s.GainFull - s.GainHalf
		return min(max((count-s.GainHalf+float64(half/2))/(2*half), 0), 1)
	case count >= s.GainFull:
		return 1
	case count >= s.GainHalf:
		return 0.5
	}
	return 0
}
