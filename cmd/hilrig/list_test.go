package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"hilrig/suites"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What a list announces is held against what a run has driven. Moments of trials
// are drawn: the list draws the same ones.
func TestListAnnouncesWhatIsDriven(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("s.yaml", []byte(`
suite: trials
about: Long for what is drawn.
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 30 %, gain: 50 %}
cases:
  - case: trials
    each: {turn: [left, right]}
    hold: {trials: {yaw_rate: [100 % of demand, 70 % of demand], count: 100, interval: 60 ms}}
    expect: [{motor: all, range: [0 %, 100 %]}]
`), 0o600))
	var listed, ran, rest bytes.Buffer
	require.Equal(t, exitGo, run(t.Context(), []string{"list", "s.yaml", "--json"}, &listed, &rest))
	require.Equal(t, exitGo, run(t.Context(), []string{"run", "s.yaml", "--record", "none", "--json"}, &ran, &rest))
	var l suites.List
	require.NoError(t, json.Unmarshal(listed.Bytes(), &l))
	var driven float64
	_, closing, found := bytes.Cut(rest.Bytes(), []byte("\ndriven "))
	require.True(t, found, rest.String())
	_, err := fmt.Sscanf(string(closing), "%f s", &driven)
	require.NoError(t, err)
	require.Len(t, l.Suites, 2, "signs of life come first")
	life, own := l.Suites[0], l.Suites[1]
	// Four rests drawn over 50 ms, and a last digit of 0.1 s.
	assert.InDelta(t, driven, life.DrivingS+own.DrivingS, 0.16)
	assert.InDelta(t, own.DrivingS, own.Cases[0].DrivingS+3, 1e-6, "power-up takes 3 s")
}
