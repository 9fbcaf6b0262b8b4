package file_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The demand, V delta / (L + K V^2) with L 0.33 m and K 0.0028 rad/(m/s^2), would come to twice its limit where the wheels are
// turned far enough: of 8 m/s^2 of lateral acceleration at 4 m/s that limit is 2 rad/s, of 100 deg/s of yaw rate that.
func TestASteerAnglePastTheLimitOfTheDemand(t *testing.T) {
	const limited = "lateral_limit: none"
	free := func(speed, steer float64) float64 { return speed * steer / (0.33 + 0.0028*speed*speed) }
	for _, row := range []struct {
		name, limit, speed string
		at                 float64 // m/s at least
		demand             float64 // rad/s, at that speed
		why                string
	}{
		{"of the lateral acceleration", "lateral_limit: 8 m/s2", "{near: 4 m/s}", 4, 2, ""},
		{"of the yaw rate", "lateral_limit: none\n    yaw_limit: 100 deg/s", "{near: 4 m/s}", 4, 100 * deg, ""},
		{"of both", "lateral_limit: 8 m/s2\n    yaw_limit: 100 deg/s", "{near: 4 m/s}", 4, 100 * deg, ""},
		{"so high that the car has to go faster", "lateral_limit: none\n    yaw_limit: 170 deg/s", "{near: 4 m/s}", 4.1, 170 * deg, ""},
		{"at a speed that is no point", "lateral_limit: none\n    yaw_limit: 170 deg/s", "4 m/s", 4, 0, "at no speed"},
		{"past what the sensor measures", "lateral_limit: none\n    yaw_limit: 1500 deg/s", "{near: 4 m/s}", 4, 0, "at no speed"},
		{"of nothing", limited, "{near: 4 m/s}", 4, 0, "limits no demand"},
	} {
		for turn, side := range map[string]float64{"left": 1, "right": -1} {
			t.Run(row.name+" "+turn, func(t *testing.T) {
				c := tried(t, "turn: "+turn+", speed: "+row.speed+", steer: {past_limit: 200 %}, throttle: {room: 25 %}, gain: {shift: 12 %}, hold: {yaw_rate: 140 % of demand}, expect: [{policy: oversteer}]", limited, row.limit)
				s := &c.Steps[len(c.Steps)-1]
				if row.why != "" {
					assert.Contains(t, c.NoPoint, row.why)
					assert.False(t, c.Asked())
					return
				}
				require.Empty(t, c.NoPoint)
				assert.GreaterOrEqual(t, s.Values.Speed, row.at)
				assert.InDelta(t, 2*row.demand*side, free(s.Values.Speed, s.Values.Steer), 0.01)
				assert.InDelta(t, row.demand*side, s.Demand, 0.05*row.demand, "the wheels of a turn do not turn alike")
				assert.InDelta(t, 1.4, s.Values.YawRate/s.Demand, 1e-9)
				assert.LessOrEqual(t, math.Abs(s.Values.Steer), 30*deg, "within the car's lock")
			})
		}
	}
}
