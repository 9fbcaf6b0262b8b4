package suites_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// calibrated returns the demo car with a policy of which the throttle's curve is measured, after the signs of life and
// the named suites, with a board that bends the throttle.
func calibrated(t *testing.T, bend float64, names ...string) *suites.Setup {
	t.Helper()
	s := load(t, calibratedFiles(t, names...))
	b := board.Bramble()
	b.ThrottleBend = bend
	s.WithBoard("curved", b)
	return s
}

// calibratedFiles returns the files of the demo car with a policy of which the throttle's curve is measured, after the signs of life.
func calibratedFiles(t *testing.T, names ...string) suites.Files {
	t.Helper()
	f := bramble("", names...)
	f.Car.Data = bytes.Replace(f.Car.Data, []byte("throttle_curve: none"), []byte("throttle_curve: calibrated"), 1)
	path, data, ok := standard.Source(standard.Life)
	require.True(t, ok)
	f.Suites = slices.Insert(f.Suites, 0, language.Source{Path: path, Data: data})
	return f
}

// What is asked by a curve that is still to be measured is planned before it is, so that a drive can be played by itself.
func TestADriveIsPlannedBeforeTheCurveIsMeasured(t *testing.T) {
	s := calibrated(t, 0.2, "replay")
	for i := range s.Suites[1].Cases {
		assert.True(t, s.Suites[1].Cases[i].Asked())
	}
	r, _ := play(t, s, suites.Options{})
	assert.Equal(t, record.Go, r.Outcome, strings.Join(troubles(r), "\n"))
	assert.Len(t, r.Suites, 2)
}

// A curve that the policy calls calibrated is measured before anything is judged, and what is asked of other throttles
// is then asked by it.
func TestTheThrottleCurveIsMeasuredFirst(t *testing.T) {
	for _, bend := range curveBends {
		s := calibrated(t, bend, "limits", "replay")
		r, _ := play(t, s, suites.Options{})
		assert.Empty(t, strings.Join(troubles(r), "\n"), "bend %g", bend)
		assert.Equal(t, record.Go, r.Outcome)
		_, err := s.Rewatch(t.Context(), r, 1, 0)
		assert.NoError(t, err, "a recorded case comes back at the throttle that was found by the curve")
		asked := map[string]int{}
		for _, s := range r.Suites {
			for _, c := range s.Cases {
				for _, k := range c.Checks {
					if k.Verdict != record.NotAsked {
						asked[strings.SplitN(k.Name, ":", 2)[0]]++
					}
				}
			}
		}
		assert.Equal(t, 4, asked["throttle curve"])
		for _, of := range []string{"follows", "at the limit", "no wrap", "every command within the policy"} {
			assert.NotZero(t, asked[of], of)
		}
	}
}

// A dead zone is the reason to declare a calibrated curve. The floor is of the commands: within the zone the motors stand, and
// beyond it they go up from there or are kept turning at the floor.
func TestAFloorBesideADeadZoneOfTheThrottle(t *testing.T) {
	for _, row := range []struct {
		dead  float64
		turns bool
	}{{0.02, true}, {0.025, true}, {0.025, false}, {0.05, true}, {0.05, false}} {
		f := calibratedFiles(t, "limits")
		f.Car.Data = bytes.Replace(f.Car.Data, []byte("floor: 0 %"), []byte("floor: 3 %"), 1)
		s := load(t, f)
		b := board.Bramble()
		b.Floor, b.ThrottleDead, b.KeepsTurning = 0.03, row.dead, row.turns
		s.WithBoard("with a dead zone", b)
		r, _ := play(t, s, suites.Options{})
		assert.Empty(t, strings.Join(troubles(r), "\n"), "%+v", row)
		assert.Equal(t, record.Go, r.Outcome)
	}
}

// Firmware that declares a floor and has none goes below it, whatever it makes of the throttle.
func TestAMissingFloorIsFoundByACalibratedCurve(t *testing.T) {
	for _, dead := range []float64{0, 0.025, 0.05} {
		f := calibratedFiles(t, "limits")
		f.Car.Data = bytes.Replace(f.Car.Data, []byte("floor: 0 %"), []byte("floor: 3 %"), 1)
		s := load(t, f)
		b := board.Bramble()
		b.ThrottleDead = dead
		s.WithBoard("without a floor", b)
		r, _ := play(t, s, suites.Options{})
		assert.Equal(t, record.NoGo, r.Outcome, "dead zone %g", dead)
	}
}
