package live

import (
	"os"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/supervisor"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// Watching is the supervisor's scheduling on this machine.
func Watching() realtime.Scheduling { return realtime.DefaultScheduling(os.DirFS("/")).Watching() }

// Settings returns how a bench with these wires and lines goes live under a supervisor. The folder
// state knows what was tried on this machine: where motors are powered, nothing goes live without.
func Settings(wired *Wired, parts supervisor.Parts, state string) (supervisor.Settings, error) {
	s := supervisor.Settings{Parts: parts, Power: wired.Power, Confirmed: true, Watching: Watching(), Found: Unrecorded(state), Env: realtime.WorkerEnv(os.Environ())}
	fell, err := supervisor.Fell(state)
	if err != nil && Watched(wired.Power) {
		return s, err
	}
	s.Supply = wired.SupplyOf(fell)
	if !Watched(wired.Power) {
		return s, nil
	}
	if s.Tested, err = supervisor.Tested(state, parts.Pins); err != nil {
		return s, err
	}
	s.Rotation, err = supervisor.Rotation(state, wired.Motors)
	return s, err
}

// PlaySupervised has the worker play on a bench in real time under the supervisor's eyes. A motor
// command beyond limit, a share of full, trips where motors are powered.
func PlaySupervised(w *supervisor.Worker, s *suites.Setup, real *suites.Real, parts supervisor.Parts, limit float64) error {
	if err := realtime.EnterRealTime(); err != nil {
		return err
	}
	return PutUnderSupervisor(w, s, real, parts, limit)
}

// PutUnderSupervisor puts a setup on a bench under the supervisor's eyes.
func PutUnderSupervisor(w *supervisor.Worker, s *suites.Setup, real *suites.Real, parts supervisor.Parts, limit float64) error {
	w.Holds(&parts)
	open := real.Open
	supervised := *real
	supervised.Open = func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		watch, err := watchOver(s, layout, limit)
		if err != nil {
			return nil, err
		}
		bench, err := open(layout, b)
		if err != nil {
			return nil, err
		}
		return w.Bench(bench, watch), nil
	}
	return s.On(&supervised)
}

// watchOver returns what looks at the motors' commands, nil where no motor is powered.
func watchOver(s *suites.Setup, layout signal.Layout, limit float64) (*supervisor.Watch, error) {
	if !Watched(s.Bench.Power) {
		return nil, nil
	}
	return supervisor.NewWatch(layout, s.Bench.Wiring.Motors, limit)
}
