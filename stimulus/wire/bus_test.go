package wire_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

func busBytes(t testing.TB, b wire.Bus, values ...float64) []byte {
	b.Port, b.Period = "receiver_bus", 7*signal.Millisecond
	f, err := b.Frame()
	require.NoError(t, err)
	return frames(t, f, &still{}, 0).Build(nil, values)
}

func all(n uint16) (rest [wire.BusChannels]uint16) {
	for i := range rest {
		rest[i] = n
	}
	return rest
}

func TestBusFrames(t *testing.T) {
	ramp := [wire.BusChannels]uint16{}
	for i := range ramp {
		ramp[i] = uint16(172 + 100*i)
	}
	captured := [wire.BusChannels]uint16{1024, 998, 1696, 1028, 1696, 1696, 1024, 1024, 1024, 1024, 1024, 1024, 112, 112, 1024, 1024}
	for _, row := range []struct {
		name   string
		bus    wire.Bus
		want   string
		source string
	}{
		{"captured", wire.Bus{Rest: captured, End: 0x04}, "0F 00 34 1F A8 09 08 6A 50 03 10 80 00 04 20 00 01 08 07 38 00 10 80 00 04",
			"READ: a frame captured from a receiver, in a public decoder; its channels CALC by a second implementation"},
		{"all in the middle", wire.Bus{Rest: all(992)}, "0F E0 03 1F F8 C0 07 3E F0 81 0F 7C E0 03 1F F8 C0 07 3E F0 81 0F 7C 00 00", "CALC by a second implementation"},
		{"ramp", wire.Bus{Rest: ramp}, "0F AC 80 08 5D B0 C3 23 50 11 0C 6D CC 83 21 25 F1 C9 55 E0 92 18 D1 00 00", "CALC by a second implementation"},
	} {
		assert.Equal(t, unhex(t, row.want), busBytes(t, row.bus), "%s: %s", row.name, row.source)
	}
}

// Channels 1, 2 and 4 of the captured frame are 1024, 998 and 1028.
func TestBusChannelsCarryValues(t *testing.T) {
	captured := [wire.BusChannels]uint16{0, 0, 1696, 0, 1696, 1696, 1024, 1024, 1024, 1024, 1024, 1024, 112, 112, 1024, 1024}
	b := wire.Bus{
		Rest: captured, End: 4,
		Throttle: wire.BusChannel{Number: 1, Low: 24, High: 2024, HighValue: 1},
		Steer:    wire.BusChannel{Number: 2, Low: 172, High: 1811, LowValue: 0.5, HighValue: -0.5},
		Gain:     wire.BusChannel{Number: 4, Low: 28, High: 1028, HighValue: 1},
	}
	steer := b.Steer.ValueOf(998)
	assert.Equal(t, unhex(t, "0F 00 34 1F A8 09 08 6A 50 03 10 80 00 04 20 00 01 08 07 38 00 10 80 00 04"), busBytes(t, b, 0.5, steer, 1))
	assert.InDelta(t, 998, b.Steer.Count(steer), 1e-9)
	assert.InDelta(t, -steer, b.Steer.Mirrored(steer), 1e-12)
	f, err := func() (wire.Frame, error) { b.Port, b.Period = "p", 3*signal.Millisecond; return b.Frame() }()
	require.NoError(t, err)
	e := frames(t, f, &still{}, 0)
	assert.Equal(t, []string{"throttle", "steer", "gain"}, e.Channels())
	e.Build(nil, []float64{2, steer, 0.4996})
	assert.InDelta(t, 1.0115, e.Said()[0], 1e-12, "clipped at 2047 counts, not wrapped")
	assert.InDelta(t, 0.5, e.Said()[2], 1e-12, "a count is 0.001")
	assert.Equal(t, signal.PortSpec{Name: "p", Baud: 100000, Parity: signal.EvenParity, StopBits: 2, Inverted: true}, b.Spec())
}

func TestBusErrors(t *testing.T) {
	good := wire.BusChannel{Number: 1, Low: 172, High: 1811, HighValue: 1}
	for _, row := range []struct {
		name   string
		change func(b *wire.Bus)
		want   string
	}{
		{"port", func(b *wire.Bus) { b.Port = "" }, "without a port"},
		{"period", func(b *wire.Bus) { b.Period = signal.Millisecond }, "each takes 3 ms"},
		{"rest", func(b *wire.Bus) { b.Rest[2] = 2048 }, "channel 3 rests at 2048"},
		{"twice", func(b *wire.Bus) { b.Throttle = good }, "steer and throttle are both on channel 1"},
		{"number", func(b *wire.Bus) { b.Steer.Number = 17 }, "steer: channel 17"},
		{"counts", func(b *wire.Bus) { b.Steer.High = 3000 }, "steer: counts 172 and 3000"},
		{"same counts", func(b *wire.Bus) { b.Steer.High = 172 }, "steer: both ends are 172"},
		{"same values", func(b *wire.Bus) { b.Steer.HighValue = 0 }, "steer: both ends stand for 0 and 0"},
	} {
		b := wire.Bus{Port: "p", Period: 7 * signal.Millisecond, Steer: good}
		row.change(&b)
		_, err := b.Frame()
		assert.ErrorContains(t, err, row.want, row.name)
	}
}
