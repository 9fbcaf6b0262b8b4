package assertions_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// fadesIn shifts nothing up to a yaw error, and in proportion to it from another on; between the two the shift comes in.
func fadesIn(none, whole float64) board {
	return func(s assertions.Step, p *law.Policy) [4]float64 {
		e := s.Demand - s.YawRate
		in := min(max((math.Abs(e)-none)/(whole-none), 0), 1)
		s.YawRate = s.Demand - e*in
		return good(s, p)
	}
}

// A shift that comes in over a range of yaw errors is bent: no line through it tells where its dead band ends, and that it bends
// is no noise. Where it sets in is the edge; a band that is not the declared one is found as ever.
func TestAShiftThatFadesInTellsItsDeadBand(t *testing.T) {
	for _, row := range []struct {
		name        string
		none, whole float64 // deg/s
		band        assertions.Verdict
	}{
		{"over as much again", 10, 20, assertions.Pass},
		{"soon", 10, 13, assertions.Pass},
		{"over a long way", 10, 28, assertions.Pass},
		{"from half the band on", 5, 10, assertions.Fail},
		{"from nothing on", 0, 10, assertions.Fail},
		{"from much later on", 15, 25, assertions.Fail},
	} {
		p := sweepPolicy()
		p.Demand.Within, p.DeadBand = 0.03, new(10*deg)
		results := sweeping{board: fadesIn(row.none*deg, row.whole*deg), policy: p, spread: 0.0005, gain: 1}.judge()
		assert.Equal(t, row.band, byName(t, results, "demand: dead band").Verdict, "%s: %+v", row.name, results)
		rate := byName(t, results, "demand: yaw rate")
		assert.Equal(t, assertions.Pass, rate.Verdict, "%s: %+v", row.name, results)
		assert.InDelta(t, p.Demand.YawRate(4, 8*deg)/deg, rate.Must().Estimate, 0.6, row.name)
	}
}
