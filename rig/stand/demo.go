package stand

import "hilrig/rig/signal"

// Demo returns the invented demo stand: a small brushless motor at a pack of two cells with a steel disc
// and an encoder, which spins freely, its load cell and converter wired. Its layout has all lines but the
// tacho's.
//
// Unloaded it turns at about 590 rad/s. The lowest held speed that it is made for is 24 rad/s, 4 % of
// that, which 5 % of throttle just reaches: full throttle in 0.03 s, 5 % in about 2 s,
// and it coasts down from there in about 4 s.
func Demo() Settings {
	s := Settings{
		Throttle: Throttle{Format: ServoPulse},
		Pack:     Pack{Voltage: 7.4, Resistance: 0.003},
		Motor: Motor{
			Resistance: 0.25, TorqueConstant: 0.0123,
			Coulomb: 0.0021, Stiction: 0.0027, Viscous: 2e-6,
			Cogging: 0.0006, CoggingPeriods: 42, PolePairs: 7,
		},
		Load:    Load{Inertia: 5e-4},
		Encoder: Encoder{Lines: 512, LineError: 0.005, Eccentricity: 0.0002},
		Cell: Cell{
			Arm: 0.1, Scale: 100_000, Offset: 21_500, Noise: 60, Rate: 80,
		},
		Telemetry: Telemetry{Noise: 0.02},
		Converter: Converter{
			Address: 0x40,
			Voltage: Register{Number: 2, Scale: 0.00125},
			Current: Register{Number: 4, Scale: 0.001, Signed: true},
		},
		Seed: 1,
	}
	for _, role := range signal.StandRoles() {
		if role != signal.ShaftTacho {
			s.Layout.Lines = append(s.Layout.Lines, signal.Spec(role, signal.NoWheel))
		}
	}
	return s
}
