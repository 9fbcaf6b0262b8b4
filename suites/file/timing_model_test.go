package file_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// withLines parses the demo bench with further lines.
func withLines(text string) (*file.Bench, error) {
	return file.ParseBench(language.Source{Path: "bench.yaml", Data: append(append([]byte(nil), demo.BenchYAML...), text...)})
}

func TestBenchesMayBeImperfect(t *testing.T) {
	b, err := withLines("")
	require.NoError(t, err)
	assert.True(t, b.Timing.Perfect())
	b, err = withLines("sampler: {period: 175 ns, stalls: {every: 20 ms, least: 50 us, most: 300 us}}\nplayer: {stalls: {every: 30 s, least: 1 ms, most: 2 ms}}\n")
	require.NoError(t, err)
	assert.False(t, b.Timing.Perfect())
	assert.Equal(t, file.TimingModel{
		SamplerPeriod: 175, SamplerStalls: file.Stalls{Every: 20 * ms, Least: 50 * signal.Microsecond, Most: 300 * signal.Microsecond},
		EdgeOutputStalls: file.Stalls{Every: 30 * signal.Second, Least: ms, Most: 2 * ms},
	}, b.Timing)
	b, err = withLines("sampler: {period: 1 us}\n")
	require.NoError(t, err)
	assert.Equal(t, file.TimingModel{SamplerPeriod: signal.Microsecond}, b.Timing)
}

func TestStallsThatCannotBe(t *testing.T) {
	for text, want := range map[string]string{
		"sampler: {period: 175 ns, stalls: {every: 20 ms, least: 300 us, most: 50 us}}": "shorter than the shortest",
		"player: {stalls: {every: 20 ms, least: 3 ms, most: 2 ms}}":                     "shorter than the shortest",
		"sampler: {stalls: {every: 20 ms, least: 1 us, most: 2 us}}":                    "period",
		"sampler: {period: 0 ns}":          "period",
		"player: {stalls: 20 ms}":          "stalls",
		"player: {stalls: {every: 20 ms}}": "least",
	} {
		_, err := withLines(text + "\n")
		assert.ErrorContains(t, err, want, text)
	}
}
