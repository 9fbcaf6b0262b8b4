package stand

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// plain is a stand of which the exact solution is known: no friction, no sag, no error of the encoder.
func plain(s *Settings) {
	s.Pack.Resistance = 0
	s.Motor.Coulomb, s.Motor.Stiction, s.Motor.Viscous, s.Motor.Cogging = 0, 0, 0, 0
	s.Encoder.LineError, s.Encoder.Eccentricity = 0, 0
}

// A motor with constant resistance runs up as w0 (1 - exp(-t/T)), w0 = d V / K, T = J R / K^2, and its
// angle is w0 (t - T (1 - exp(-t/T))). Exact solution.
func TestARunUpIsTheExactExponential(t *testing.T) {
	esc, _ := ESCNamed("linear")
	esc.Lag, esc.CurrentLimit = signal.Nanosecond, 0
	w := newWorldOf(t, esc, plain).arm()
	began := w.now
	w.hold(0.5, 3*signal.Second)
	edges := append(w.of(signal.ShaftA), w.of(signal.ShaftB)...)
	slices.SortFunc(edges, func(a, b signal.Edge) int { return int(a.At - b.At) })
	require.Greater(t, len(edges), 100_000)

	const w0, tau = 0.5 * 7.4 / 0.0123, 5e-4 * 0.25 / (0.0123 * 0.0123)
	sector := 2 * math.Pi / 2048
	exact := func(at float64) float64 { return w0 * (at - tau*(1-math.Exp(-at/tau))) }
	// The controller begins with one of its loops after the first pulse has ended.
	const loop = 500 * signal.Microsecond
	start := ((began+1500*signal.Microsecond)/loop*loop + loop).Seconds()
	worst := 0.0
	for i, e := range edges {
		// The shaft stands in the middle of a sector.
		worst = max(worst, math.Abs(exact(e.At.Seconds()-start)-(float64(i)+0.5)*sector))
	}
	// An edge's time is rounded to the nanosecond, in which the shaft turns by 3e-7 rad at most.
	assert.Less(t, worst, 4e-7)
}

// However many sectors the shaft passes, the angle between the first and the last is theirs.
func TestEdgesCountTheAngle(t *testing.T) {
	for _, level := range []float64{1, 0.3, 0.05} {
		w := newWorld(t, "linear").arm().hold(level, 2*signal.Second).hold(0, 1*signal.Second)
		// The stand has gone on to the end of its step.
		w.out = append(w.out, w.stand.turns.edges...)
		n := counts(w.out, w.line(signal.ShaftA), w.line(signal.ShaftB))
		e := &w.stand.encoder
		require.Positive(t, n)
		assert.Equal(t, e.sector, n%2048)
		assert.GreaterOrEqual(t, w.stand.shaft.angle, e.border[e.sector]-1e-3)
		assert.LessOrEqual(t, w.stand.shaft.angle, e.border[e.sector]+2*2*math.Pi/2048)
	}
}

func TestATachoAndAnEncoderWithItsLinesSwapped(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Encoder.Backwards = true }).arm().hold(0.3, signal.Second)
	forward := newWorld(t, "linear").arm().hold(0.3, signal.Second)
	a, b := w.line(signal.ShaftA), w.line(signal.ShaftB)
	assert.Equal(t, -counts(forward.out, a, b), counts(w.out, a, b))

	tacho := newWorld(t, "linear", func(s *Settings) {
		s.Layout = signal.Layout{Lines: []signal.LineSpec{signal.Spec(signal.ThrottleCommand, 0), signal.Spec(signal.ShaftTacho, 0)}}
		s.Encoder = Encoder{Pulses: 32}
	}).arm().hold(0.3, signal.Second)
	edges := tacho.of(signal.ShaftTacho)
	assert.InDelta(t, float64(counts(forward.out, a, b))/2048*64, len(edges), 1)
	for i, e := range edges {
		require.Equal(t, i%2 == 0, e.Level)
	}
}

// A shaft that coasts loses its drag over its inertia, and stops.
func TestCoastingIsFrictionAlone(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Motor.Cogging = 0 }).arm().hold(0.1, signal.Second)
	w.hold(0, 50*signal.Millisecond)
	from := w.stand.shaft.speed
	w.hold(0, signal.Second)
	// Exact solution of J w' = -c - b w.
	truth := w.stand.Truth()
	c, b, j := truth.motor.Coulomb, truth.motor.Viscous, truth.inertia
	want := (from+c/b)*math.Exp(-b/j) - c/b
	near(t, want, w.stand.shaft.speed, 1e-9, "after a second")
	w.hold(0, 20*signal.Second)
	assert.Zero(t, w.stand.shaft.speed)
}

// Cogging takes no energy: coasting down over all speeds, with the ripple followed and left out, takes
// as long as without it, but for the last turn.
func TestCoggingTakesNoEnergy(t *testing.T) {
	stops := func(cogging float64) float64 {
		w := newWorld(t, "linear", func(s *Settings) { s.Motor.Cogging = cogging }).arm().hold(0.1, signal.Second)
		for w.stand.shaft.speed != 0 || w.now < 2*signal.Second {
			w.hold(0, 100*signal.Millisecond)
			require.Less(t, w.now, 60*signal.Second)
		}
		return w.now.Seconds()
	}
	assert.InDelta(t, stops(0), stops(0.0015), 0.35)
}

// The ripple that is followed step by step goes over into that of first order without a jump.
func TestTheRippleGoesOver(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Motor.Cogging = 0.002; s.Motor.Stiction = 0.0021 }).arm()
	entered := false
	for range 4000 {
		before := w.stand.shaft
		w.hold(0.06, frame)
		after := w.stand.shaft
		moved := math.Mod(after.angle-before.angle+2*math.Pi, 2*math.Pi)
		assert.InDelta(t, (before.speed+after.speed)/2*frame.Seconds(), moved, 0.001+0.02*moved)
		entered = entered || after.smooth && !before.smooth
	}
	assert.True(t, entered)
}

// A brake holds its speed and takes torque less drag.
func TestABrakeHoldsItsSpeed(t *testing.T) {
	for _, level := range []float64{0.3, 0.6, 1} {
		w := newWorld(t, "linear", func(s *Settings) { s.Held = Held{Kind: AtSpeed, Speed: 60} }).arm().hold(level, 3*signal.Second)
		truth := w.stand.Truth()
		require.InDelta(t, 60, w.stand.shaft.speed, 1e-12)
		near(t, truth.Torque(level, 60, Up)-truth.Drag(60), w.stand.shaft.reaction, 1e-9, "its reaction")
	}
	w := newWorld(t, "linear", func(s *Settings) { s.Held = Held{Kind: AtSpeed, Speed: 60} }).arm().hold(0.06, 5*signal.Second)
	assert.Less(t, w.stand.shaft.speed, 40.0, "it cannot drive")
	assert.Zero(t, w.stand.shaft.reaction)
}

func TestALockedShaftStands(t *testing.T) {
	w := newWorld(t, "linear", func(s *Settings) { s.Held = Held{Kind: Locked} }).arm().hold(0.5, signal.Second)
	assert.Zero(t, w.stand.shaft.speed)
	assert.Empty(t, w.of(signal.ShaftA))
	pull, _ := w.stand.shaft.cog()
	near(t, w.stand.Truth().Torque(0.5, 0, Up), w.stand.shaft.reaction-pull, 1e-9, "its reaction")
}

// The speed that a level comes to is that at which torque is drag.
func TestAPlateauIsWhereTorqueIsDrag(t *testing.T) {
	for _, name := range ESCs() {
		if name == "drifting" {
			continue // it has warmed up by then
		}
		w := newWorld(t, name).arm().hold(0.5, 15*signal.Second)
		truth := w.stand.Truth()
		speed := w.stand.shaft.speed
		near(t, truth.Drag(speed), truth.Torque(0.5, speed, Up), 0.02, name)
	}
}

// A hand spins the stand up only while nothing is said on the throttle, and the motor does not brake.
func TestAHandSpinsTheStandUp(t *testing.T) {
	esc, _ := ESCNamed("linear")
	esc.Brakes = true
	w := newWorldOf(t, esc, func(s *Settings) { s.Load.Hand = []float64{60, 40} })
	top, tops := 0.0, []float64(nil)
	for range 40 * 20 {
		w.run(50 * signal.Millisecond)
		v := w.stand.shaft.speed
		if top > 10 && v < 5 {
			tops, top = append(tops, top), 0
		}
		top = max(top, v)
	}
	require.Len(t, tops, 2)
	assert.InDelta(t, 60, tops[0], 1)
	assert.InDelta(t, 40, tops[1], 1)

	w = newWorldOf(t, esc, func(s *Settings) { s.Load.Hand = []float64{60} }).arm().hold(0, 5*signal.Second)
	assert.Zero(t, w.stand.shaft.speed)
}

// A controller that brakes stops the shaft far sooner than friction does.
func TestBrakingAtIdle(t *testing.T) {
	speeds := []float64{}
	for _, brakes := range []bool{false, true} {
		esc, _ := ESCNamed("linear")
		esc.Brakes = brakes
		w := newWorldOf(t, esc).arm().hold(0.2, 2*signal.Second).hold(0, 2*signal.Second)
		speeds = append(speeds, w.stand.shaft.speed)
	}
	assert.Greater(t, speeds[0], 5*speeds[1], fmt.Sprint(speeds))
}

// A shaft that coasts with cogging, against the equation of motion solved in steps of 5 us by the classical
// Runge-Kutta method: where the ripple is taken into account by first order, where it is followed step by
// step, and as the one goes over into the other.
func TestCoggingAgainstTheEquationOfMotion(t *testing.T) {
	settings := Demo()
	settings.Encoder.LineError, settings.Encoder.Eccentricity = 0, 0
	settings.Motor.Cogging, settings.Motor.CoggingPeriods = 0.0015, 12
	s, err := New(settings, linear)
	require.NoError(t, err)
	m := &settings.Motor
	a := func(angle, speed float64) float64 {
		return (m.Cogging*math.Sin(12*angle) - m.Coulomb - m.Viscous*speed) / settings.Load.Inertia
	}
	const h = 5e-6
	angle, speed := s.shaft.angle, 1.4*s.shaft.smoothAbove
	s.shaft.speed = speed
	crossing, worst, states := 0, 0.0, map[bool]int{}
	var edges []signal.Edge
	for t, next := 0.0, 1; speed > 0.5*s.shaft.smoothAbove; t += h {
		for s.tick.Seconds() < t+2*h {
			s.turn()
			states[s.shaft.smooth]++
		}
		edges = s.turns.edges
		k1v, k1 := speed, a(angle, speed)
		k2v, k2 := speed+h/2*k1, a(angle+h/2*k1v, speed+h/2*k1)
		k3v, k3 := speed+h/2*k2, a(angle+h/2*k2v, speed+h/2*k2)
		k4v, k4 := speed+h*k3, a(angle+h*k3v, speed+h*k3)
		angle += h / 6 * (k1v + 2*k2v + 2*k3v + k4v)
		speed += h / 6 * (k1 + 2*k2 + 2*k3 + k4)
		for border := 2 * math.Pi / 2048; angle >= float64(next)*border && crossing < len(edges); next++ {
			at := t + h - (angle-float64(next)*border)/speed
			worst = max(worst, math.Abs(edges[crossing].At.Seconds()-at)*speed)
			crossing++
		}
	}
	assert.Greater(t, crossing, 1500)
	assert.Greater(t, min(states[true], states[false]), 500)
	// Where they go over the ripple is a hundredth of the speed, and 1/1200 rad. Second order leaves
	// some 1e-4 of the angle of it.
	assert.Less(t, worst, 3e-4)
}

// At rest it takes more torque to move the shaft than to keep it moving.
func TestStiction(t *testing.T) {
	esc := linear
	esc.Start = 0
	w := newWorldOf(t, esc, func(s *Settings) { s.Motor.Stiction, s.Motor.Cogging = 0.008, 0 }).arm()
	// Locked, 2 % of throttle give 0.0073 N m and 2.4 % give 0.0087.
	w.hold(0.02, signal.Second)
	assert.Zero(t, w.stand.shaft.speed)
	w.hold(0.024, signal.Second)
	assert.Positive(t, w.stand.shaft.speed)
	w.hold(0.02, 5*signal.Second)
	assert.Positive(t, w.stand.shaft.speed)
}

// Backwards everything is as ahead.
func TestBothDirectionsAreAlike(t *testing.T) {
	middle := func(s *Settings) {
		s.Throttle.WithNeutral = true
		s.Encoder.LineError, s.Encoder.Eccentricity, s.Motor.Cogging = 0, 0, 0
	}
	for _, held := range []Held{{}, {Kind: AtSpeed, Speed: 60}, {Kind: Locked}} {
		var speeds, reactions [2]float64
		for i, command := range []float64{0.8, -0.8} {
			w := newWorld(t, "linear", middle, func(s *Settings) { s.Held = held })
			// 1000 us are full backwards, 1500 us are idle.
			w.hold(0.5, 400*signal.Millisecond).hold(0.5+command/2, 2*signal.Second)
			speeds[i], reactions[i] = w.stand.shaft.speed, w.stand.shaft.reaction
			truth := w.stand.Truth()
			assert.InDelta(t, truth.Torque(0.8, 60, Up), -truth.Torque(-0.8, -60, Down), 1e-12)
		}
		// Free, the shorter pulses of backwards have it begin a little sooner.
		assert.InDelta(t, speeds[0], -speeds[1], 0.05)
		assert.InDelta(t, reactions[0], -reactions[1], 1e-9)
		assert.Equal(t, held.Kind != Locked, speeds[0] > 0)
		assert.Equal(t, held.Kind != Free, reactions[0] > 0)
	}
}
