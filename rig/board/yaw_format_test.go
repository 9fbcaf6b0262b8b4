package board

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
)

// TestChecksumsOfTheCatalogue holds the checksums to the check values of the bytes "123456789" that
// the catalogue of parametrised CRC algorithms lists; MEM.
func TestChecksumsOfTheCatalogue(t *testing.T) {
	for _, c := range []struct {
		name string
		sum  Checksum
		want uint64
	}{
		{"CRC-8/SMBUS", Checksum{Number: Number{Width: 8}, Poly: 0x07}, 0xF4},
		{"CRC-8/MAXIM-DOW", Checksum{Number: Number{Width: 8}, Poly: 0x31, Reflected: true}, 0xA1},
		{"CRC-16/XMODEM", Checksum{Number: Number{Width: 16}, Poly: 0x1021}, 0x31C3},
		{"CRC-16/IBM-3740", Checksum{Number: Number{Width: 16}, Poly: 0x1021, Init: 0xFFFF}, 0x29B1},
		{"CRC-16/KERMIT", Checksum{Number: Number{Width: 16}, Poly: 0x1021, Reflected: true}, 0x2189},
		{"CRC-16/MODBUS", Checksum{Number: Number{Width: 16}, Poly: 0x8005, Init: 0xFFFF, Reflected: true}, 0x4B37},
		{"CRC-16/X-25", Checksum{Number: Number{Width: 16}, Poly: 0x1021, Init: 0xFFFF, XorOut: 0xFFFF, Reflected: true}, 0x906E},
		{"sum", Checksum{Number: Number{Width: 8}, Kind: CheckSum}, 0xDD}, // CALC: 477 modulo 256
		{"xor", Checksum{Number: Number{Width: 8}, Kind: CheckXor}, 0x31}, // CALC
	} {
		data := []byte("123456789")
		c.sum.To = len(data)
		assert.Equal(t, c.want, c.sum.sum(data), c.name)
	}
}

// TestNumbersOfAFrame reads numbers where Go's own packing put them.
func TestNumbersOfAFrame(t *testing.T) {
	frame := make([]byte, 16)
	binary.BigEndian.PutUint16(frame[1:], 0xFEDC)
	binary.LittleEndian.PutUint32(frame[3:], math.Float32bits(-1.5))
	binary.BigEndian.PutUint64(frame[7:], math.Float64bits(2.25))
	frame[15] = 0b101_10011
	for _, c := range []struct {
		number Number
		want   float64
	}{
		{Number{Bit: 8, Width: 16}, 0xFEDC},
		{Number{Bit: 8, Width: 16, Signed: true}, -0x124},
		{Number{Bit: 8, Width: 16, LowFirst: true}, 0xDCFE},
		{Number{Bit: 24, Width: 32, LowFirst: true, Float: true}, -1.5},
		{Number{Bit: 56, Width: 64, Float: true}, 2.25},
		{Number{Bit: 120, Width: 3}, 0b101},
		{Number{Bit: 123, Width: 5, Signed: true}, 0b10011 - 32},
		{Number{Bit: 120, Width: 5, LowFirst: true}, 0b10011},
	} {
		assert.InDelta(t, c.want, c.number.value(frame), 0, "%+v", c.number)
	}
}

// TestFramesAmongBytes finds frames of each stuffing among bytes that are none, and drops a corrupt one.
func TestFramesAmongBytes(t *testing.T) {
	plain := YawFormat{
		Size: 4, Value: Number{Bit: 8, Width: 16, Signed: true}, Scale: 0.001,
		Constants: []Expects{{Number{Width: 8}, 0xA5}}, Checks: []Checksum{{Number: Number{Bit: 24, Width: 8}, Kind: CheckSum, To: 3}},
	}
	escapes, overhead := plain, plain
	escapes.Stuffing = Stuffing{Kind: StuffingEscapes, Delimiter: 0xC0, Escape: 0xDB, DelimiterAs: 0xDC, EscapeAs: 0xDD}
	overhead.Stuffing.Kind = StuffingOverhead
	for _, c := range []struct {
		name   string
		format YawFormat
		bytes  []byte
	}{
		{"plain", plain, []byte{0x01, 0xA5, 0xA5, 0x00, 0xC0, 0x65}},
		{"escapes", escapes, []byte{0x07, 0xC0, 0xA5, 0x00, 0xDB, 0xDC, 0x65, 0xC0}},
		{"overhead", overhead, []byte{0x02, 0x07, 0x00, 0x02, 0xA5, 0x03, 0xC0, 0x65, 0x00}},
	} {
		t.Run(c.name, func(t *testing.T) {
			y := yawSensor{jump: math.MaxInt32, agree: math.MaxInt32}
			p := yawParser{format: &c.format, yaw: &y, pause: signal.Second}
			for i, b := range c.bytes {
				p.parse(b, signal.Time(i+1)*signal.Millisecond)
			}
			assert.True(t, y.seen)
			assert.Equal(t, int32(192_000), y.value, "0x00C0 counts of 0.001 rad/s, in 1e-6 rad/s")
			for i, b := range c.bytes {
				if b == 0x65 {
					b = 0x64
				}
				p.parse(b, signal.Second+signal.Time(i)*signal.Millisecond)
			}
			assert.Less(t, y.at, signal.Second, "a frame with a wrong sum")
		})
	}
}

// TestFramesThatWereLostDoNotStandStill has frames of one value and one count go on, and stay away in between.
func TestFramesThatWereLostDoNotStandStill(t *testing.T) {
	const limit, apart = 60 * signal.Millisecond, 20 * signal.Millisecond
	for _, c := range []struct {
		name     string
		between  signal.Time
		together bool
	}{{"frame after frame", 10 * signal.Millisecond, true}, {"as far apart as one may be", apart, true}, {"a loss before each", 70 * signal.Millisecond, false}} {
		y := yawSensor{jump: math.MaxInt32, agree: math.MaxInt32, apart: apart}
		for at := signal.Millisecond; at < 4*limit; at += c.between {
			y.sequence(7, at)
			y.updateRaw(42, at)
		}
		assert.Equal(t, c.together, y.frozen(limit), c.name)
		assert.Equal(t, c.together, y.counterStands(limit), c.name)
	}
}

// TestSteeringTable takes angles between the rows of a table, and the ends beyond them.
func TestSteeringTable(t *testing.T) {
	s := Settings{SteerTable: []SteerPoint{{1000, -0.5}, {1500, 0}, {2000, 0.4}}}
	for width, want := range map[signal.Time]float64{900: -0.5, 1000: -0.5, 1250: -0.25, 1500: 0, 1750: 0.2, 2000: 0.4, 2100: 0.4} {
		assert.InDelta(t, want, s.tableAngle(width), 1e-12)
	}
}

// With a table it is that which says where the wheels are straight, and not the middle of a line.
func TestSteeringIsStraightWhereItsTableSaysSo(t *testing.T) {
	b := BuiltIn{settings: Settings{SteerCentre: 1510 * signal.Microsecond, SteerSlack: 2 * signal.Microsecond,
		SteerTable: []SteerPoint{{1000 * signal.Microsecond, -0.6}, {1500 * signal.Microsecond, 0}, {2000 * signal.Microsecond, 0.4}}}}
	for width, want := range map[int64]float64{1490: -0.012, 1499: 0, 1500: 0, 1502: 0, 1510: 0.008} {
		b.steer.width = width
		angle, _ := b.steering()
		assert.InDelta(t, want, angle, 1e-12, "%d us", width)
	}
}
