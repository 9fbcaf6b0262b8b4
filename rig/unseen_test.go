package rig_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/stimulus"
)

// elsewhere is a bench one of whose ports leads elsewhere than to the pin that is read back.
type elsewhere struct {
	rig.Bench
	line signal.Line // whose edges never come
	off  bool        // it does lead there
}

func (e *elsewhere) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	dst, err := e.Bench.ReadBack(dst)
	return slices.DeleteFunc(dst, func(edge signal.Edge) bool { return !e.off && edge.Line == e.line }), err
}

// What is sent on a port and not seen on its pin is told of, and nothing where it is seen.
func TestAPortOnWhosePinNothingComesIsUnseen(t *testing.T) {
	for _, off := range []bool{false, true} {
		w := wiring()
		l := &listener{layout: w.Layout()}
		bench, err := simulated.New(simulated.Settings{Layout: l.layout, Board: l, Sampler: simulated.Sampler{Period: 175}})
		require.NoError(t, err)
		t.Cleanup(func() { assert.NoError(t, bench.Close()) })
		line, ok := l.layout.Line("yaw_serial")
		require.True(t, ok)
		r, err := rig.New(&elsewhere{bench, line, off}, rig.Settings{Wiring: w, Car: car(), Seed: 3})
		require.NoError(t, err)
		heard(t, r, stimulus.Held(stimulus.Values{}, 200*signal.Millisecond))
		want := uint32(1)
		if off {
			want = 0
		}
		assert.Equal(t, want, r.Timing().Unseen)
	}
}
