// Package plant is the model of the car: a planar double-track model with four
// driven wheels, stepped at a fixed step, and beside it the linear single-track
// model that it tends to at small angles.
//
// The concepts in order: a [Car] is the parameters, a [Model] made of it by [New]
// holds the [State] and goes one step on by [Model.Step] with an [Input]; what can
// be measured on the way, accelerations, loads, forces, is the [Output].
// [Car.HubSpeeds] is the rule by which a wheel turns when the motion is held from
// outside. [SingleTrack] has the handbook formulas: understeer gradient, gains,
// eigenvalues.
//
// # The plain configuration
//
// With every extra switched off (no motor, no servo, no steering table) the model
// is: for each wheel i at (x_i, y_i), steered by d,
//
//	u = vx - r y_i, v = vy + r x_i                 velocity of the hub
//	vxw = u cos d + v sin d, vyw = v cos d - u sin d
//	sx = (R w - vxw)/|R w|, sy = vyw/|R w|         slips
//	Fx = mux k Fz mf(n xm; x) nx/n, Fy = -muy k Fz mf(n ym; y) ny/n
//	nx = sx/xm, ny = sy/ym, n = hypot(nx, ny)      xm, ym: slips of the peaks
//	mf(x; B, C, E) = sin(C atan(Bx - E(Bx - atan Bx)))
//	k = 1 - LoadSensitivity (Fz - Load)/Load
//
// and vx' = ax + r vy, vy' = ay - r vx, r' = Mz/Iz, w' = (T - R Fx)/Iw, where ax and
// ay are the accelerations from tyre forces and drag. The loads Fz depend on ax and
// ay and these on the loads; the loop is solved to rounding in every evaluation.
//
// Two departures keep the model usable everywhere. The slips are taken over |R w|
// or [SlipFloor], whichever is more, so that a locked wheel has a finite slip; a
// wheel whose rim runs faster than SlipFloor is untouched. And k is never below 0.
// Below walking pace a wheel's slip settles faster than a step of 1 ms can follow;
// there Step divides the step into as many equal parts as it needs.
//
// # Units and signs
//
// SI units, radians. ISO 8855: x forward, y left, z up; yaw rate, steer and lateral
// acceleration are positive to the left. A wheel's torque and speed are positive
// forward. Arrays of four stand in the order of [Wheels].
//
// # Time
//
// The model has no clock: state, input and the length of the step, in seconds. Its
// numbers have the same bits on every architecture.
//
// # Sources
//
// H. B. Pacejka, Tire and Vehicle Dynamics, 3rd ed. 2012, chapter 4 (Magic Formula,
// combined slip by similarity). R. Rajamani, Vehicle Dynamics and Control, 2nd ed.
// 2012, chapters 2 and 3 (single track). ISO 8855:2011 (axes and words).
package plant
