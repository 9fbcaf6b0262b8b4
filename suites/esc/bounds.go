package esc

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
	"hilrig/suites/file"
)

// The bounds that end a run.
const (
	boundSpeed       = "speed"
	boundCurrent     = "current"
	boundTemperature = "temperature"
	boundVoltage     = "lowest_voltage"
	boundTime        = "time"
	boundLevel       = "level"
	boundEncoder     = "encoder"
	boundTelemetry   = "telemetry"
	boundBus         = "bus_sensor"
)

// Tripped says that a run was ended at idle before its end: a bound of the file was passed, or what
// would have told so fell silent.
type Tripped struct {
	Bound string      // a key of stop_at, the source that fell silent, or "level": one that lasted too long
	Why   string      // in words, with the value
	At    signal.Time // of the run
}

// Error says why the run ended.
func (t *Tripped) Error() string {
	return fmt.Sprintf("at %s: %s; the throttle went to idle and the run ended", t.At.Short(), t.Why)
}

// unobserved says that the run ended as nobody could tell any more whether a bound was passed: the motor's supply is to go.
func (t *Tripped) unobserved() bool {
	switch t.Bound {
	case boundLevel, boundEncoder, boundTelemetry, boundBus:
		return true
	}
	return false
}

// silence is for how long nothing may be heard of a source while the motor is driven.
const silence = 100 * signal.Millisecond

// slowest is how many counts of the encoder have to come within the silence, at the speed from which on
// a run-up is watched: an encoder of few pulses is waited for longer.
const slowest = 3

// bounds watch over a run.
type bounds struct {
	stop      file.StopAt
	first     signal.Time // when the first level began; -1 before
	threshold float64     // above this command the motor is taken to turn; 1 until it is known
	driven    signal.Time // since when the command has been above the threshold; -1: it is not
	deadline  signal.Time // until when the level may last; 0: open
	reckoned  signal.Time // how long it was reckoned to last
	began     signal.Time // when it began
	patience  signal.Time // for the encoder
	most      signal.Time // that one command other than idle may last, of a locked shaft; 0: not bounded
	since     signal.Time // when the command began
	turning   bool        // the encoder has to turn while the motor is driven
}

// command tells that a command is played from now on.
func (b *bounds) command(now signal.Time, x float64) {
	switch above := math.Abs(x) > b.threshold; {
	case !above:
		b.driven = -1
	case b.driven < 0:
		b.driven = now
	}
	b.since = now
	if x != 0 && b.first < 0 {
		b.first = now
	}
}

// level tells that a level begins that is reckoned to last so long; it may last twice that.
func (b *bounds) level(now, reckoned signal.Time) {
	b.began, b.reckoned, b.deadline = now, reckoned, now+2*reckoned
}

// over tells that the level is over.
func (b *bounds) over() { b.deadline = 0 }

// check returns what ends the run now, nil where nothing does.
func (b *bounds) check(now signal.Time, s *sources) *Tripped {
	trip := func(bound, format string, args ...any) *Tripped {
		return &Tripped{Bound: bound, Why: fmt.Sprintf(format, args...), At: now}
	}
	if b.first >= 0 && now-b.first > b.stop.Time {
		return trip(boundTime, "the run takes longer than stop_at: time, %s", b.stop.Time.Short())
	}
	if b.deadline > 0 && now > b.deadline {
		return trip(boundLevel, "a level lasts %s, twice the %s that it was reckoned to", (now - b.began).Short(), b.reckoned.Short())
	}
	if lasted := now - b.since; b.most > 0 && s.command != 0 && lasted > b.most {
		return trip(boundLevel, "a level lasts %s, longer than level_limit of the locked shaft, %s", lasted.Short(), b.most.Short())
	}
	if x := b.stop.Speed; x != nil {
		if v, ok := s.speed(now); ok && math.Abs(v) > *x {
			return trip(boundSpeed, "the shaft turns at %.4g rad/s, above stop_at: speed, %.4g rad/s", v, *x)
		}
	}
	if x := b.stop.Current; x != nil {
		if v, ok := s.current(); ok && math.Abs(v) > *x {
			return trip(boundCurrent, "the current is %.4g A, above stop_at: current, %.4g A", v, *x)
		}
	}
	if x := b.stop.Temperature; x != nil && s.telemetry != nil && s.telemetry.any && s.telemetry.last.Temperature > *x {
		return trip(boundTemperature, "the controller is at %.4g degC, above stop_at: temperature, %.4g degC", s.telemetry.last.Temperature, *x)
	}
	if x := b.stop.LowestVoltage; x != nil {
		if v, ok := s.voltage(); ok && v < *x {
			return trip(boundVoltage, "the supply is at %.4g V, below stop_at: lowest_voltage, %.4g V", v, *x)
		}
	}
	return b.living(now, s, trip)
}

// living returns which source has fallen silent while the motor is driven. A bound needs one that lives.
func (b *bounds) living(now signal.Time, s *sources, trip func(bound, format string, args ...any) *Tripped) *Tripped {
	if b.driven < 0 {
		return nil
	}
	quiet := func(last, patience signal.Time) bool { return now-max(last, b.driven) > patience }
	if b.turning && s.shaft != nil && quiet(s.shaft.moved, b.patience) {
		return trip(boundEncoder, "no edge of the encoder for %s at a command of %.3g %%", b.patience.Short(), 100*s.command)
	}
	bySpeed := b.stop.Speed != nil && s.shaft == nil
	byTelemetry := b.stop.Temperature != nil || bySpeed ||
		b.stop.Current != nil && !s.has(file.BusCurrent) || b.stop.LowestVoltage != nil && !s.has(file.BusVoltage)
	if byTelemetry && s.telemetry != nil && quiet(s.telemetry.heard, silence) {
		return trip(boundTelemetry, "no frame of telemetry for %s, by which stop_at is watched", silence.Short())
	}
	for i := range s.bus {
		one := &s.bus[i]
		bounded := one.Quantity == file.BusCurrent && b.stop.Current != nil || one.Quantity == file.BusVoltage && b.stop.LowestVoltage != nil
		if bounded && quiet(one.heard, max(silence, 2*one.every)) {
			return trip(boundBus, "no reading of the %s on the bus for %s, by which stop_at is watched", one.Quantity, silence.Short())
		}
	}
	return nil
}
