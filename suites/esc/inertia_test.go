package esc_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
	"hilrig/rig/stand"
	"hilrig/suites/esc"
)

// From rest to a speed the mean torque is the inertia's times the mean acceleration: between that at rest and that at
// the speed, and nearer to their middle the less the torque falls on the way.
func TestAnInertiaFromRest(t *testing.T) {
	long(t)
	s := &esc.Setup{Stand: standFile(t, "{kind: speed, at: 60 rad/s}", "{kind: inertia, to: 60 rad/s}", "plan: {margin: 20 %}", quick), Seed: 1}
	out := run(t, s)
	set := out.Sets[0]
	st, err := stand.New(s.StandSettings(&s.Stand.Held[0]), stand.ESC{})
	require.NoError(t, err)
	scale := s.Stand.SpinUp.Inertia.Value / s.StandSettings(&s.Stand.Held[0]).Load.Inertia
	n := 0
	for _, r := range set.Readings {
		if r.Status != characteristic.Read {
			continue
		}
		n++
		x := set.Levels[r.Level]
		most := scale * (st.Truth().Torque(x, 0, stand.Up) + 0.002)
		least := scale * (st.Truth().Torque(x, 60, stand.Up) - 0.002)
		assert.True(t, least <= r.Output && r.Output <= most, "%v %s: %v is not in %v to %v", x, r.Direction, r.Output, least, most)
	}
	assert.Greater(t, n, 40)
}
