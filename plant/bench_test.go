package plant

import "testing"

// small is a made-up car of scale 1:8.
func small() Car {
	return Car{
		Mass: 4.2, YawInertia: 0.085, FrontAxle: 0.17, RearAxle: 0.16, CGHeight: 0.06,
		FrontTrack: 0.26, RearTrack: 0.255, RollShare: 0.55,
		WheelRadius: 0.054, WheelInertia: 2.2e-4,
		Tyre: Tyre{
			LongitudinalB: 11, LongitudinalC: 1.6, LongitudinalE: 0.4,
			LateralB: 9, LateralC: 1.45, LateralE: -0.3,
			LongitudinalMu: 1.05, LateralMu: 0.98, Load: 10.3, LoadSensitivity: 0.08,
		},
		Aero: Aero{DragArea: 0.03, FrontLiftArea: 0.01, RearLiftArea: 0.015},
	}
}

func BenchmarkPlantTick(b *testing.B) {
	m, err := New(small())
	if err != nil {
		b.Fatal(err)
	}
	m.Reset(State{Vx: 8, Wheel: [4]float64{148, 148, 148, 148}})
	in := Input{Steer: 0.03, Torque: [4]float64{.05, .05, .05, .05}}
	for range 500 {
		m.Step(in, 0.001)
	}
	s := m.State()
	n := 0
	b.ReportAllocs()
	for b.Loop() {
		m.Step(in, 0.001)
		if n++; n%1000 == 0 {
			m.Reset(s)
		}
	}
	b.Logf("%+v", m.Output())
}
