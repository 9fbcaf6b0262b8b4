package search

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
)

// Firmware that takes a wheel which stands while the others turn for one with a lost encoder, and stops for it as its policy
// says, is right. The rear hubs of a car that goes at v and turns at r go at v ± r times half its track.
func TestNoWheelStandsWhileOthersGo(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	a := newArtist(setup.Car, func(*drive) bool { return true })
	back := 0
	for n := range 4000 {
		d := a.drive(9, n, nil)
		for _, p := range d.pieces {
			v, half := p.values[speed].to, p.values[yawRate].to*math.Pi/180*setup.Car.Car.RearTrack/2
			if v < 0 {
				back++
			}
			one, other := v-half, v+half
			stands := min(math.Abs(one), math.Abs(other)) < 0.29 || one*other < 0
			assert.False(t, stands && max(math.Abs(one), math.Abs(other)) > 0.71, "drive %d: %v m/s, %v deg/s", n, v, p.values[yawRate].to)
		}
	}
	assert.Positive(t, back)
}

func TestADriveIsNotShrunkToOneInWhichAWheelStands(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	a := newArtist(setup.Car, func(*drive) bool { return true })
	at := func(v, yaw float64) *drive {
		return &drive{pieces: []piece{{length: 500, values: [channels]value{speed: {to: v}, yawRate: {to: yaw}}}}}
	}
	assert.False(t, a.allGo(at(-0.9, 360)))
	assert.False(t, a.allGo(at(0, 400)))
	assert.True(t, a.allGo(at(0, 40)))
	assert.True(t, a.allGo(at(-0.9, 40)))
	assert.True(t, a.allGo(at(4, 215)))
}
