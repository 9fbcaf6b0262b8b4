package wire_test

import (
	"bytes"
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

func unhex(t testing.TB, s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	require.NoError(t, err)
	return b
}

// run returns the bytes from..to.
func run(from, to int) []byte {
	var b []byte
	for i := from; i <= to; i++ {
		b = append(b, byte(i))
	}
	return b
}

func join(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

func TestStuffingVectors(t *testing.T) {
	const (
		rfc  = "READ: sam-peach/simple_slip README, after RFC 1055"
		unit = "READ: a public SLIP encoder's unit tests"
		cobs = "READ: encoding examples of the encyclopedia's article, as public test suites quote them"
	)
	hdlc := wire.Stuffing{Kind: wire.Escaped, Delimiter: 0x7E, Escape: 0x7D, DelimiterAs: 0x5E, EscapeAs: 0x5D}
	for _, row := range []struct {
		name     string
		stuffing wire.Stuffing
		in, want []byte
		source   string
	}{
		{"slip", wire.SLIP, unhex(t, "01 DB 49 C0 15"), unhex(t, "C0 01 DB DD 49 DB DC 15 C0"), rfc},
		{"slip plain", wire.SLIP, unhex(t, "00 01 02 03"), unhex(t, "C0 00 01 02 03 C0"), unit},
		{"slip end first", wire.SLIP, unhex(t, "C0 01 02 03"), unhex(t, "C0 DB DC 01 02 03 C0"), unit},
		{"escape by other bytes", hdlc, unhex(t, "7E 11 7D"), unhex(t, "7D 5E 11 7D 5D 7E"), "READ: cobs2-rs README: PPP replaces 7E by 7D 5E; 7D 5D by the same rule"},
		{"cobs 1", wire.COBS, unhex(t, "00"), unhex(t, "01 01 00"), cobs},
		{"cobs 2", wire.COBS, unhex(t, "00 00"), unhex(t, "01 01 01 00"), cobs},
		{"cobs 3", wire.COBS, unhex(t, "00 11 00"), unhex(t, "01 02 11 01 00"), cobs},
		{"cobs 4", wire.COBS, unhex(t, "11 22 00 33"), unhex(t, "03 11 22 02 33 00"), cobs},
		{"cobs 5", wire.COBS, unhex(t, "11 22 33 44"), unhex(t, "05 11 22 33 44 00"), cobs},
		{"cobs 6", wire.COBS, unhex(t, "11 00 00 00"), unhex(t, "02 11 01 01 01 00"), cobs},
		{"cobs 7", wire.COBS, run(1, 254), join([]byte{0xFF}, run(1, 254), []byte{0}), cobs},
		{"cobs 8", wire.COBS, run(0, 254), join([]byte{1, 0xFF}, run(1, 254), []byte{0}), cobs},
		{"cobs 9", wire.COBS, run(1, 255), join([]byte{0xFF}, run(1, 254), []byte{2, 0xFF, 0}), cobs},
		{"cobs 10", wire.COBS, join(run(2, 255), []byte{0}), join([]byte{0xFF}, run(2, 255), []byte{1, 1, 0}), cobs + " [MEM]"},
		{"cobs 11", wire.COBS, join(run(3, 255), []byte{0, 1}), join([]byte{0xFE}, run(3, 255), []byte{2, 1, 0}), cobs + " [MEM]"},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.want, row.stuffing.Append(nil, row.in), row.source)
		})
	}
}

// unstuff is the receiver's side, written from the rules: it returns what stands
// before the first delimiter.
func unstuff(s wire.Stuffing, line []byte) (data []byte, ok bool) {
	if s.Leading {
		line = line[1:]
	}
	if s.Kind == wire.Overhead {
		for len(line) > 0 && line[0] != 0 {
			n := int(line[0])
			if n > len(line) {
				return nil, false
			}
			data = append(data, line[1:n]...)
			line = line[n:]
			if n < 0xFF && line[0] != 0 {
				data = append(data, 0)
			}
		}
		return data, len(line) == 1
	}
	for i := 0; i < len(line); i++ {
		switch b := line[i]; b {
		case s.Delimiter:
			return data, i == len(line)-1
		case s.Escape:
			i++
			if line[i] == s.DelimiterAs {
				data = append(data, s.Delimiter)
			} else {
				data = append(data, s.Escape)
			}
		default:
			data = append(data, b)
		}
	}
	return nil, false
}

// What is stuffed comes back, and no delimiter stands within.
func TestStuffingRoundTrip(t *testing.T) {
	for _, s := range []wire.Stuffing{wire.SLIP, wire.COBS} {
		rapid.Check(t, func(t *rapid.T) {
			n := rapid.IntRange(1, 600).Draw(t, "n")
			data := rapid.SliceOfN(rapid.SampledFrom([]byte{0, 0xC0, 0xDB, 0xDC, 1, 2, 0xFF}), n, n).Draw(t, "data")
			got, ok := unstuff(s, s.Append(nil, data))
			require.True(t, ok)
			require.Equal(t, data, got)
		})
	}
}

func TestStuffedFrames(t *testing.T) {
	cfg := wire.Frame{Port: "p", Period: signal.Millisecond, Stuffing: wire.SLIP, Fields: []wire.Field{
		{Kind: wire.Constant, Bytes: []byte{0xC0}},
		{Kind: wire.Integer, Size: 1, Channel: "yaw_rate", Scale: 1},
		{Kind: wire.Sum8},
	}}
	e := frames(t, cfg, &still{}, 0)
	assert.Equal(t, 3*2+2, e.Size())
	// The sum is of the bytes before stuffing: C0 + 1B = DB.
	assert.Equal(t, unhex(t, "C0 DB DC 1B DB DD C0"), e.Build(nil, []float64{0x1B}))
	assert.Equal(t, 27.0, e.Sent())

	for _, row := range []struct {
		name     string
		stuffing wire.Stuffing
		want     string
	}{
		{"kind", wire.Stuffing{Kind: 9}, "stuffing of kind 9"},
		{"same byte", wire.Stuffing{Kind: wire.Escaped, Delimiter: 1, Escape: 1}, "both 0x01"},
		{"same escape", wire.Stuffing{Kind: wire.Escaped, Delimiter: 1, Escape: 2, DelimiterAs: 3, EscapeAs: 3}, "both go as 0x03"},
		{"delimiter again", wire.Stuffing{Kind: wire.Escaped, Delimiter: 1, Escape: 2, DelimiterAs: 3, EscapeAs: 1}, "the delimiter itself"},
	} {
		cfg.Stuffing = row.stuffing
		_, err := wire.NewFrames(cfg, &still{}, 0)
		assert.ErrorContains(t, err, row.want, row.name)
	}
}
