package stand

import (
	"fmt"

	"hilrig/rig/signal"
)

// Stand is a stand in virtual time.
type Stand struct {
	settings Settings
	esc      ESC
	circuit  circuit
}

// New returns a stand at time 0, its shaft at rest and its controller not yet armed. The error says
// which setting is wrong.
func New(s Settings, esc ESC) (*Stand, error) {
	s, esc = s.withDefaults(), esc.withDefaults()
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("stand settings: %w", err)
	}
	if err := esc.check(); err != nil {
		return nil, fmt.Errorf("controller %q: %w", esc.Name, err)
	}
	return &Stand{settings: s, esc: esc, circuit: newCircuit(&s, &esc)}, nil
}

// newCircuit returns the circuit of a stand.
func newCircuit(s *Settings, esc *ESC) circuit {
	return circuit{
		voltage: s.Pack.Voltage, sag: s.Pack.Resistance, supply: s.Pack.CurrentLimit,
		resistance: s.Motor.Resistance, constant: s.Motor.TorqueConstant,
		limit: esc.CurrentLimit, synchronous: esc.Synchronous,
	}
}

// Name says which controller is on the stand: "stand:linear".
func (s *Stand) Name() string { return "stand:" + s.esc.Name }

// Truth returns what a measurement should find.
func (s *Stand) Truth() Truth {
	return Truth{esc: s.esc, circuit: s.circuit, motor: s.settings.Motor, inertia: s.settings.Load.Inertia}
}

// step is how far the machine is turned at once.
const step = 250 * signal.Microsecond

// mostSpeed is above what a motor on a stand turns at, in rad/s.
const mostSpeed = 20_000
