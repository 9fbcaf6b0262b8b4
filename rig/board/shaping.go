package board

import (
	"fmt"

	"hilrig/rig/signal"
)

// Shaping is what stands between what the firmware works out and what a motor is sent. The
// zero value lets everything pass as it comes.
type Shaping struct {
	YawLag     signal.Time // time constant of a first-order lag of the yaw rate, worked out once a turn of the loop; 0: none
	CommandLag signal.Time // the same of the commands
	Slew       float64     // share of range per second that a command may change by; 0: as fast as it likes
	// Delay is by how much later a motor is sent what the loop worked out; at most
	// mostDelayed turns of the loop.
	Delay [4]signal.Time
	Every [4]int // a motor is sent every so-manieth frame alone; 0 stands for each
	// FramePerLoop says that a frame begins with the end of each turn of the loop, and
	// OutputPeriod says nothing.
	FramePerLoop bool
}

// mostDelayed is how many turns of the loop a command may be held back.
const mostDelayed = 60

// check returns an error that names the first constant out of its range.
func (x *Shaping) check(s *Settings) error {
	if x.YawLag < 0 || x.CommandLag < 0 || x.YawLag > signal.Second || x.CommandLag > signal.Second {
		return fmt.Errorf("board settings: Shaping has lags of %v and %v; they have to lie from 0 to 1 s", x.YawLag, x.CommandLag)
	}
	if !(x.Slew >= 0 && x.Slew <= 1e6) {
		return fmt.Errorf("board settings: Shaping.Slew is %v; it has to lie from 0 to 1e6 per s", x.Slew)
	}
	for m := range x.Delay {
		if most := mostDelayed * s.LoopPeriod; x.Delay[m] < 0 || x.Delay[m] > most {
			return fmt.Errorf("board settings: Shaping.Delay[%d] is %v; it has to lie from 0 to %v, %d turns of the loop", m, x.Delay[m], most, mostDelayed)
		}
		if x.Every[m] < 0 || x.Every[m] > 1000 {
			return fmt.Errorf("board settings: Shaping.Every[%d] is %d; it has to lie from 0 to 1000", m, x.Every[m])
		}
	}
	if longest := s.Output.longest(s.MotorIdle, s.MotorFull) + 10*signal.Microsecond; x.FramePerLoop && s.LoopPeriod < longest {
		return fmt.Errorf("board settings: LoopPeriod is %v; with a frame for each turn it has to be at least %v", s.LoopPeriod, longest)
	}
	return nil
}

// shaper keeps what the shaping needs to know of the past.
type shaper struct {
	lagged float64    // the yaw rate, rad/s
	known  bool       // lagged holds one
	held   [4]float64 // commands as they left the lag and the slew limit
	past   [mostDelayed + 2]shaped
	newest int
	frames int // counted, since power-up
}

// shaped is what the loop gave the motors from a time on.
type shaped struct {
	at      signal.Time
	command [4]float64
}

// part returns which part of the way a first-order lag goes in one turn of the loop.
func part(turn, lag signal.Time) float64 { return float64(turn) / float64(turn+lag) }

// yaw returns the yaw rate behind its lag.
func (h *shaper) yaw(x *Shaping, turn signal.Time, yaw float64) float64 {
	if x.YawLag == 0 {
		return yaw
	}
	if !h.known {
		h.lagged, h.known = yaw, true
	}
	h.lagged += float64((yaw - h.lagged) * part(turn, x.YawLag))
	return h.lagged
}

// commands takes in what the loop worked out at a time.
func (h *shaper) commands(x *Shaping, turn, now signal.Time, command [4]float64) [4]float64 {
	for m, c := range command {
		if x.CommandLag > 0 {
			c = h.held[m] + float64((c-h.held[m])*part(turn, x.CommandLag))
		}
		if x.Slew > 0 {
			most := float64(x.Slew * turn.Seconds())
			c = min(max(c, h.held[m]-most), h.held[m]+most)
		}
		command[m] = c
	}
	return h.keep(now, command)
}

// keep takes commands as they are, and returns them.
func (h *shaper) keep(now signal.Time, command [4]float64) [4]float64 {
	h.held = command
	h.newest = (h.newest + 1) % len(h.past)
	h.past[h.newest] = shaped{now, command}
	return command
}

// sent returns what a frame that begins at a time carries, command being the newest.
func (h *shaper) sent(x *Shaping, now signal.Time, command [4]float64) [4]float64 {
	for m := range command {
		if x.Delay[m] == 0 {
			continue
		}
		command[m] = 0
		for i := range h.past {
			p := &h.past[(h.newest-i+len(h.past))%len(h.past)]
			if p.at <= now-x.Delay[m] {
				command[m] = p.command[m]
				break
			}
		}
	}
	return command
}

// thin takes from a frame the waves of those motors whose turn it is not.
func (h *shaper) thin(x *Shaping, waves [4]wave) [4]wave {
	for m, every := range x.Every {
		if every > 1 && h.frames%every != 0 {
			waves[m] = wave{}
		}
	}
	h.frames++
	return waves
}
