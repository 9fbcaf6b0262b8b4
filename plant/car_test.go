package plant

// small is a made-up car of scale 1:8 in the plain configuration.
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
