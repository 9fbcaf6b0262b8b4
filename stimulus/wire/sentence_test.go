package wire_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// The checksum is the exclusive or of what stands between $ and *.
func TestSentenceChecksumVectors(t *testing.T) {
	for _, row := range []struct{ sentence, source string }{
		{"$GPGGA,015808.00,2726.53758,S,15126.05255,E,1,08,1.0,365.1,M,39.5,M,,*79", "READ: a public checker of sentences"},
		{"$GPGGA,000003.071,7900.56904,N,16607.52019,W,1,09,0.8,4.64,M,,,,*26", "READ: a public checksum function's example"},
		{"$GNGLL,2239.37849,N,11400.75600,E,123254.00,A,A*7F", "READ: a public article"},
		{"$PSRF103,00,01,00,01*25", "READ: a public checksum function's example"},
		{"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A", "READ: D. DePriest's page on sentences, as many public parsers quote it"},
		{"$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48", "READ: the same page"},
	} {
		body, sum, _ := strings.Cut(row.sentence[1:], "*")
		assert.Equal(t, sum, fmt.Sprintf("%02X", wire.XorOf8([]byte(body))), row.source)
	}
}

// parseSentence splits a line into its fields; it is the receiver's side.
func parseSentence(t require.TestingT, line string) []string {
	require.True(t, strings.HasSuffix(line, "\r\n"), line)
	require.LessOrEqual(t, len(line), 82, "NMEA 0183 allows 82 characters [MEM]")
	body, sum, ok := strings.Cut(strings.TrimSpace(line)[1:], "*")
	require.True(t, ok && line[0] == '$', line)
	x := byte(0)
	for i := range len(body) {
		x ^= body[i]
	}
	require.Equal(t, fmt.Sprintf("%02X", x), sum, line)
	return strings.Split(body, ",")
}

func sentenceEncoder(t require.TestingT, s wire.Sentence, offset signal.Time) *wire.FrameEncoder {
	return frames(t, wire.Frame{Port: "gps", Period: 100 * signal.Millisecond, Sentence: s}, &still{}, offset)
}

func number(t require.TestingT, s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// The worked lines: 11.523556 m/s is 22.4 knots and 41.48 km/h.
func TestSentences(t *testing.T) {
	const v = 22.4 * 1852 / 3600
	e := sentenceEncoder(t, wire.Sentence{Kind: wire.RMC}, 1230*signal.Millisecond)
	line := string(e.Build(nil, []float64{v, -84.4 * math.Pi / 180, 1852, 0}))
	assert.True(t, strings.HasPrefix(line, "$GPRMC,120001.23,A,5001.0000,N,01000.0000,E,022.40,084.40,010100,,,A*"), line)
	parseSentence(t, line)
	assert.Equal(t, len(line), e.Size())
	assert.InDelta(t, v, e.Sent(), 1e-9)
	line = string(e.Build(nil, []float64{-1, 0, 0, 119.0441}))
	assert.Contains(t, line, "120001.33,A,5000.0000,N,00959.9000,E,001.94,180.00,", "backwards to the south; to the left is west")

	e = sentenceEncoder(t, wire.Sentence{Kind: wire.VTG, Talker: "GN"}, 0)
	line = string(e.Build(nil, []float64{v, 0.1}))
	assert.True(t, strings.HasPrefix(line, "$GNVTG,354.27,T,,M,022.40,N,041.48,K,A*"), line)
	parseSentence(t, line)
	assert.Equal(t, []string{"speed", "heading"}, e.Channels())
}

func TestSentenceTimeGoesOverMidnight(t *testing.T) {
	for _, row := range []struct {
		at         signal.Time
		time, date string
	}{
		{12*3600*signal.Second - 10*signal.Millisecond, "235959.99", "010100"},
		{12 * 3600 * signal.Second, "000000.00", "020100"},
		{(12 + 24*59) * 3600 * signal.Second, "000000.00", "010300"}, // 2000 was a leap year
		{(12 + 24*365) * 3600 * signal.Second, "000000.00", "010101"},
	} {
		got := parseSentence(t, string(sentenceEncoder(t, wire.Sentence{Kind: wire.RMC}, row.at).Build(nil, nil)))
		assert.Equal(t, row.time, got[1])
		assert.Equal(t, row.date, got[9])
	}
}

// Whatever the car does, a receiver reads back speed and course, and the line
// keeps its length.
func TestSentencesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		speed := rapid.Float64Range(-500, 500).Draw(t, "speed")
		heading := rapid.Float64Range(-100, 100).Draw(t, "heading")
		x, y := rapid.Float64Range(-1e6, 1e6).Draw(t, "x"), rapid.Float64Range(-1e6, 1e6).Draw(t, "y")
		e := sentenceEncoder(t, wire.Sentence{Kind: wire.RMC}, 0)
		line := e.Build(nil, []float64{speed, heading, x, y})
		require.Len(t, line, e.Size())
		f := parseSentence(t, string(line))
		require.InDelta(t, math.Abs(speed), number(t, f[7])*1852/3600, 0.003)
		north, west := math.Cos(heading)*speed, math.Sin(heading)*speed
		course := number(t, f[8]) * math.Pi / 180
		require.Less(t, course, 2*math.Pi)
		require.InDelta(t, north, math.Abs(speed)*math.Cos(course), 1e-3+math.Abs(speed)*1e-4)
		require.InDelta(t, -west, math.Abs(speed)*math.Sin(course), 1e-3+math.Abs(speed)*1e-4)
	})
	e := sentenceEncoder(t, wire.Sentence{Kind: wire.RMC}, 0)
	parseSentence(t, string(e.Build(nil, []float64{math.Inf(1), math.Inf(-1), math.NaN(), math.Inf(1)})))
}

func TestSentenceFaults(t *testing.T) {
	e := frames(t, wire.Frame{Period: 100 * signal.Millisecond, Sentence: wire.Sentence{Kind: wire.RMC}}, &fixed{1}, 0)
	assert.True(t, e.Checked())
	first := parseSentence(t, string(e.Build(nil, []float64{3, 0})))
	assert.InDelta(t, 3+0.01*1852/3600, e.Sent(), 0.0026, "one hundredth of a knot of noise, at least")
	e.SetStuck(true)
	next := parseSentence(t, string(e.Build(nil, []float64{9, 1})))
	assert.NotEqual(t, first[1], next[1], "time goes on")
	assert.Equal(t, first[2:], next[2:], "the rest is frozen")
	e.SetStuck(false)
	e.SetWrongChecksum(true)
	line := string(e.Build(nil, []float64{3, 0}))
	body, sum, _ := strings.Cut(strings.TrimSpace(line)[1:], "*")
	assert.NotEqual(t, fmt.Sprintf("%02X", wire.XorOf8([]byte(body))), sum)
}

func TestSentenceErrors(t *testing.T) {
	for _, row := range []struct {
		name  string
		frame wire.Frame
		want  string
	}{
		{"kind", wire.Frame{Sentence: wire.Sentence{Kind: 9}}, "sentence of kind 9"},
		{"fields", wire.Frame{Sentence: wire.Sentence{Kind: wire.RMC}, Fields: []wire.Field{{Kind: wire.Xor8}}}, "leave the fields out"},
		{"talker", wire.Frame{Sentence: wire.Sentence{Kind: wire.RMC, Talker: "gp"}}, `talker "gp"`},
		{"noise", wire.Frame{Sentence: wire.Sentence{Kind: wire.RMC, Noise: -1}}, "noise -1"},
	} {
		row.frame.Period = 1
		_, err := wire.NewFrames(row.frame, &still{}, 0)
		assert.ErrorContains(t, err, row.want, row.name)
	}
}
