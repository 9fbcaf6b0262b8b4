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

// On the way from one piece to the next a wheel may stand for a moment, and not as long as a firmware's wait for its encoder.
func TestNoWheelStandsForLongOnTheWay(t *testing.T) {
	setup, err := suites.Load(filesFor("built-in", 1))
	require.NoError(t, err)
	a := newArtist(setup.Car, func(*drive) bool { return true })
	half := setup.Car.Car.RearTrack / 2
	ways := 0
	for n := range 800 {
		d := a.drive(11, n, nil)
		stood := 0
		for _, p := range d.pieces {
			for ms := range p.length {
				along := func(c channel) float64 {
					v := p.values[c]
					if ms >= v.over {
						return v.to
					}
					ways++
					return v.from + (v.to-v.from)*float64(ms)/float64(v.over)
				}
				v, by := along(speed), along(yawRate)*math.Pi/180*half
				one, other := v-by, v+by
				if stood++; min(math.Abs(one), math.Abs(other)) >= 0.29 && one*other > 0 || max(math.Abs(one), math.Abs(other)) <= 0.71 {
					stood = 0
				}
				require.LessOrEqual(t, stood, 70, "drive %d: %v m/s and %v deg/s, %d ms into a piece", n, v, along(yawRate), ms)
			}
		}
	}
	assert.Positive(t, ways)
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
	// A car that sets off as it turns faster and faster: a rear wheel, 0.15 m from its middle, stands at first.
	off := at(2.8, -295)
	off.pieces[0].length, off.pieces[0].values[speed].over, off.pieces[0].values[yawRate].over = 1300, 800, 300
	assert.False(t, a.allGo(off))
	off.pieces[0].values[yawRate].over = 1300
	assert.True(t, a.allGo(off))
}
