package demo_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/plant/portable"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

var update = flag.Bool("update", false, "write gravel.csv anew")

// bend is one stretch of the course that the driver has in mind.
type bend struct {
	seconds   float64
	speed     float64 // m/s that the driver wants
	curvature float64 // 1/m, positive to the left
}

// course is a minute: away from standstill, bends both ways, a hairpin that is
// taken too fast, a long one on full throttle, and to a crawl.
var course = []bend{
	{2, 0, 0}, {3, 3.5, 0}, {3, 3.5, 0.45}, {2, 4.5, 0}, {3, 4, -0.4},
	{2.5, 3, 0.5}, {2.5, 3, -0.5}, {3, 5.5, 0}, {2.5, 4.5, 0.45}, {3, 3, -0.6},
	{2.5, 4, 0.25}, {3, 5, -0.25}, {2, 6, 0}, {2.5, 5.5, -0.4}, {2.5, 2.5, 0.7},
	{3, 4, -0.35}, {3.5, 4.5, 0.35}, {2, 9, 0.12}, {2.5, 5, 0.4}, {3, 3, -0.55},
	{2.5, 4, 0.3}, {2.5, 2, -0.3}, {4, 0, 0},
}

const (
	tick   = 1e-3 // s
	sample = 20   // ticks between rows: 50 Hz
	degree = math.Pi / 180
)

// driver steers by the curvature ahead and by how the car turns, and drives by
// the speed, with hands that lag and are never quite still.
type driver struct {
	steer, throttle float64 // rad, share
	draw            portable.Noise
	wander          float64
}

// drive goes one tick on.
func (d *driver) drive(b bend, s plant.State, wheelbase float64) {
	d.wander += float64(tick*(10*degree*d.draw.Norm()/math.Sqrt(tick))) - float64(tick*1.6*d.wander)
	rest := float64(b.curvature*s.Vx) - s.YawRate
	steer := float64(b.curvature*wheelbase*1.25) + float64(0.06*rest) + d.wander
	steer = min(max(steer, -24*degree), 24*degree)
	d.steer += float64((steer - d.steer) * tick / 0.09)
	throttle := 0.0
	if b.speed > 0 {
		throttle = b.speed/15.5 + float64(0.22*(b.speed-s.Vx))
	}
	throttle = min(max(throttle, 0), 1)
	d.throttle += float64((throttle - d.throttle) * tick / 0.12)
}

// ground throws the wheels up: a little all the time, and every second or two a
// stone that takes one off the ground.
type ground struct {
	draw  portable.Noise
	rough [4]float64
	wheel int
	left  int // ticks for which that wheel is still in the air
}

// unload returns the share of its forces that each wheel loses.
func (g *ground) unload(speed float64) (u [4]float64) {
	for i := range g.rough {
		g.rough[i] += float64((g.draw.Norm() - g.rough[i]) * 0.05)
		u[i] = min(max(float64(0.5*g.rough[i])*min(speed/4, 1), 0), 0.6)
	}
	if g.left == 0 && g.draw.Float64() < float64(0.7*tick) && speed > 1 {
		g.wheel, g.left = int(g.draw.Uint64()%4), 30+int(g.draw.Uint64()%60)
	}
	if g.left > 0 {
		g.left--
		u[g.wheel] = 1
	}
	return u
}

// gravel drives the course with the car and returns the log. All four motors
// get the throttle: the log is of a car without a torque split.
func gravel(t testing.TB) []byte {
	car, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: demo.CarYAML})
	require.NoError(t, err)
	model, err := plant.New(car.Car)
	require.NoError(t, err)
	d := driver{draw: portable.NewNoise(1, "driver")}
	g := ground{draw: portable.NewNoise(1, "ground")}
	sensor := portable.NewNoise(1, "sensors")
	var log bytes.Buffer
	fmt.Fprintln(&log, "# Invented: the model of the demo car on rough ground, with a scripted driver and no torque split. Nobody drove it.")
	fmt.Fprintln(&log, "time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%]")
	n := 0
	for _, b := range course {
		for range int(b.seconds*1000 + 0.5) {
			s := model.State()
			if n%sample == 0 {
				speed := max(0, s.Vx+float64(0.01*sensor.Norm()))
				yaw := s.YawRate/degree + float64(0.4*sensor.Norm())
				fmt.Fprintf(&log, "%.2f,%.2f,%.1f,%.1f,%.1f\n", float64(n)*tick, speed, clean(d.steer/degree, 0.1), clean(yaw, 0.1), d.throttle*100)
			}
			d.drive(b, s, 0.33)
			in := plant.Input{Steer: d.steer, Unload: g.unload(s.Vx)}
			for i := range in.Command {
				in.Command[i] = d.throttle
			}
			model.Step(in, tick)
			n++
		}
	}
	return log.Bytes()
}

// clean returns x without the sign of what is rounded to 0.
func clean(x, step float64) float64 {
	if math.Abs(x) < step/2 {
		return 0
	}
	return x
}

// TestGravelIsWhatTheScriptDrives holds the log to the car that it is of: the
// same bytes on every machine.
func TestGravelIsWhatTheScriptDrives(t *testing.T) {
	log := gravel(t)
	if *update {
		require.NoError(t, os.WriteFile("gravel.csv", log, 0o644))
	}
	kept, err := os.ReadFile("gravel.csv")
	require.NoError(t, err)
	assert.True(t, bytes.Equal(kept, log), "the car, the driver or the ground has changed; go test ./suites/demo -update drives anew")
}
