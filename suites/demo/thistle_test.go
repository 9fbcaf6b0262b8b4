package demo_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board/moment"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

func thistle(t testing.TB) (*file.Car, *file.Bench) {
	d := demo.Of("built-in/moment")
	car, err := file.ParseCar(language.Source{Path: d.CarPath, Data: d.Car})
	require.NoError(t, err)
	bench, err := file.ParseBench(language.Source{Path: d.BenchPath, Data: d.Bench})
	require.NoError(t, err)
	return car, bench
}

func TestEachBoardHasItsCar(t *testing.T) {
	bramble := demo.Setup{CarPath: demo.CarPath, BenchPath: demo.BenchPath, Car: demo.CarYAML, Bench: demo.BenchYAML}
	for _, board := range []string{"", "built-in", "built-in:no_cap", "null:silent", "built-in/momentum"} {
		assert.Equal(t, bramble, demo.Of(board), board)
	}
	assert.Equal(t, demo.Of("built-in/moment"), demo.Of("built-in/moment:yaw_held"))
	car, bench := thistle(t)
	assert.Equal(t, "thistle", car.Name)
	assert.Equal(t, "thistle bench", bench.Name)
}

// The car is the one that its board was flashed for, and its tyre is chosen so that it is the
// one of its own policy.
func TestThistleIsTheCarOfItsBoard(t *testing.T) {
	car, bench := thistle(t)
	s := moment.Thistle()
	assert.InEpsilon(t, s.UndersteerGradient, car.Car.SingleTrack().UndersteerGradient(), 0.01)
	assert.InEpsilon(t, s.UndersteerGradient, car.Policy.Demand.UndersteerGradient, 1e-12)
	assert.InEpsilon(t, s.Wheelbase, car.Policy.Demand.Wheelbase, 1e-12)
	assert.InEpsilon(t, s.Wheelbase, car.Car.FrontAxle+car.Car.RearAxle, 1e-12)
	assert.InEpsilon(t, s.WheelRadius, car.Car.WheelRadius, 1e-12)
	assert.InDelta(t, s.Cap, car.Policy.Cap.Of, 1e-12)
	wiring, err := file.Complete(bench, car)
	require.NoError(t, err)
	steer := &wiring.Bus.Steer
	for _, degrees := range []float64{-20, 0, 8} {
		assert.InDelta(t, degrees*degree, (steer.Count(degrees*degree)-s.SteerCentre)*s.SteerPerCount, 0.05*degree, "the board's steer angle is the car's")
	}
	assert.Empty(t, file.LintCar(car))
}
