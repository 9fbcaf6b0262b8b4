package wire_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

func uart(t require.TestingT, p signal.PortSpec) wire.UART {
	u, err := wire.NewUART(p)
	require.NoError(t, err)
	return u
}

// 0x55 in 8N1 alternates in each of its ten bits: a square wave of half the baud rate.
func TestUARTAlternates(t *testing.T) {
	u := uart(t, signal.PortSpec{Baud: 115200, Line: 3})
	edges, end := u.Append(nil, 1000, []byte{0x55, 0x55})
	require.Len(t, edges, 20)
	for k, e := range edges {
		want := 1000 + math.Round(float64(k)*1e9/115200)
		assert.Equal(t, signal.Edge{At: signal.Time(want), Line: 3, Level: k%2 == 1}, e)
	}
	assert.EqualValues(t, 1000+math.Round(20*1e9/115200), end)
}

func TestUARTLevels(t *testing.T) {
	for _, row := range []struct {
		name string
		port signal.PortSpec
		data byte
		want string // levels of the bits, start bit first
	}{
		{"8N1", signal.PortSpec{}, 0x0F, "0111100001"},
		{"8N2", signal.PortSpec{StopBits: 2}, 0x0F, "01111000011"},
		{"8E1, even data", signal.PortSpec{Parity: signal.EvenParity}, 0x0F, "01111000001"},
		{"8E1, odd data", signal.PortSpec{Parity: signal.EvenParity}, 0x01, "01000000011"},
		{"8O1, even data", signal.PortSpec{Parity: signal.OddParity}, 0x0F, "01111000011"},
		{"8O1, odd data", signal.PortSpec{Parity: signal.OddParity}, 0x01, "01000000001"},
		{"8E2", signal.PortSpec{Parity: signal.EvenParity, StopBits: 2}, 0xFF, "011111111011"},
		{"inverted", signal.PortSpec{Inverted: true}, 0x0F, "1000011110"},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.port.Baud = 100_000 // 10 us a bit
			u := uart(t, row.port)
			edges, end := u.Append(nil, 0, []byte{row.data})
			require.EqualValues(t, len(row.want)*10_000, end)
			require.Equal(t, len(row.want), u.BitsPerByte())
			level, i := !row.port.Inverted, 0
			var got strings.Builder
			for bit := range row.want {
				for i < len(edges) && edges[i].At <= signal.Time(bit)*10_000 {
					level = edges[i].Level
					i++
				}
				got.WriteString(map[bool]string{false: "0", true: "1"}[level])
			}
			assert.Equal(t, row.want, got.String())
			assert.Equal(t, len(edges), i)
		})
	}
}

// A megabyte later a bit still begins where it should.
func TestUARTDoesNotDrift(t *testing.T) {
	u := uart(t, signal.PortSpec{Baud: 921600})
	edges, end := u.Append(nil, 0, make([]byte, 1_000_000))
	assert.EqualValues(t, math.Round(1e7*1e9/921600), end)
	assert.EqualValues(t, math.Round((1e7-1)*1e9/921600), edges[len(edges)-1].At)
}

func TestUARTRefuses(t *testing.T) {
	for _, row := range []struct {
		port signal.PortSpec
		want string
	}{
		{signal.PortSpec{Name: "yaw_serial"}, "port yaw_serial: 0 baud"},
		{signal.PortSpec{Baud: 13_000_000}, "write 300 to 12000000"},
		{signal.PortSpec{Baud: 9600, Parity: 3}, "parity 3"},
		{signal.PortSpec{Baud: 9600, StopBits: 3}, "3 stop bits"},
	} {
		_, err := wire.NewUART(row.port)
		assert.ErrorContains(t, err, row.want)
	}
	edges, end := wire.UART{}.Append(nil, 5, []byte("x"))
	assert.Empty(t, edges)
	assert.EqualValues(t, 5, end)
}
