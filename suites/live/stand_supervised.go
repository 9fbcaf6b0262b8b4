package live

import (
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites"
	"hilrig/suites/file"
)

// StandSettings is [Settings] for a stand. That its motor turns the right way nobody has seen
// before: a run begins with that, by a command that is held to [StandFirst].
func StandSettings(wired *Wired, parts supervisor.Parts, state string) (supervisor.Settings, error) {
	s, err := Settings(wired, parts, state)
	s.Trial = true
	return s, err
}

// StandSupervised returns the bench of a stand as the worker plays on it, in real time under the
// supervisor's eyes.
func StandSupervised(w *supervisor.Worker, s *file.Stand, real *suites.Real, parts supervisor.Parts) (*suites.Real, error) {
	if err := realtime.EnterRealTime(); err != nil {
		return nil, err
	}
	return StandUnderSupervisor(w, s, real, parts), nil
}

// ForStand returns the bench of a stand: its motor turns first by [StandFirst], in a rehearsal as well.
func ForStand(s *file.Stand, real *suites.Real) *suites.Real {
	of := *real
	of.First = StandFirst(s)
	return &of
}

// StandUnderSupervisor puts the bench of a stand under the supervisor's eyes.
func StandUnderSupervisor(w *supervisor.Worker, s *file.Stand, real *suites.Real, parts supervisor.Parts) *suites.Real {
	w.Holds(&parts)
	supervised := *ForStand(s, real)
	turning := true
	supervised.Shaft = func(turns bool) { turning = turns }
	supervised.Open = func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		watch, err := watchOverStand(s, layout, turning)
		if err != nil {
			return nil, err
		}
		bench, err := real.Open(layout, b)
		if err != nil {
			return nil, err
		}
		return w.Stand(bench, watch)
	}
	supervised.Trip = func(timeout bool) {
		why := supervisor.SourceLost
		if timeout {
			why = supervisor.LevelTimeout
		}
		w.Trip(why)
	}
	return &supervised
}

// watchOverStand returns what looks at the throttle of a stand, nil where its motor has no supply. A
// shaft that is locked is not to be seen turning.
func watchOverStand(s *file.Stand, layout signal.Layout, turning bool) (*supervisor.StandWatch, error) {
	if !Watched(s.Power) {
		return nil, nil
	}
	var shaft *decode.Angle
	if turning {
		var err error
		if shaft, err = shaftOf(s, layout); err != nil {
			return nil, err
		}
	}
	return supervisor.NewStandWatch(layout, supervisor.StandSettings{
		Throttle: s.Throttle.Motor, First: StandFirst(s), Limit: Limit(s.Interlock.MotorLimit), Shaft: shaft, Unseen: FirstHold,
	})
}

// shaftOf returns what reads the angle of the stand's shaft, nil where nothing is on it.
func shaftOf(s *file.Stand, layout signal.Layout) (*decode.Angle, error) {
	if s.SpinUp == nil {
		return nil, nil
	}
	line := func(role signal.Role) signal.Line {
		l, _ := layout.Find(role, signal.NoWheel)
		return l
	}
	e := &s.SpinUp.Encoder
	if e.Pulses > 0 {
		return decode.NewTachoAngle(wire.Tacho{Pulses: e.Pulses}, line(signal.ShaftTacho))
	}
	return decode.NewAngle(wire.Quadrature{Lines: e.Lines, Reverse: e.Reverse}, line(signal.ShaftA), line(signal.ShaftB))
}
