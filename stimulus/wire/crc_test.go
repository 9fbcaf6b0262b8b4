package wire_test

import (
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/stimulus/wire"
)

// check is the message that catalogues print check values for.
const check = "123456789"

func TestCRC(t *testing.T) {
	for _, row := range []struct {
		source string
		crc    *wire.CRC
		want   uint16
	}{
		{"CRC-8/SMBUS, crc-catalog crate", wire.NewCRC8(0x07, 0, 0, false), 0xF4},
		{"CRC-8/I-432-1, racket crc docs", wire.NewCRC8(0x07, 0, 0x55, false), 0xA1},
		{"CRC-8/AUTOSAR, go crc8 docs", wire.NewCRC8(0x2F, 0xFF, 0xFF, false), 0xDF},
		{"CRC-8/SAE-J1850, go crc8 docs", wire.NewCRC8(0x1D, 0xFF, 0xFF, false), 0x4B},
		{"CRC-8/DVB-S2, go crc8 docs", wire.NewCRC8(0xD5, 0, 0, false), 0xBC},
		{"CRC-8/DARC, crc-catalog crate 0.1.0", wire.NewCRC8(0x39, 0, 0, true), 0x15},
		{"CRC-16/IBM-3740 (CCITT-FALSE), donglora-protocol docs", wire.NewCRC16(0x1021, 0xFFFF, 0, false), 0x29B1},
		{"CRC-16/XMODEM, crc-catalog crate 2.5.0", wire.NewCRC16(0x1021, 0, 0, false), 0x31C3},
		{"CRC-16 reflected, with an initial value that is not its own mirror image, crcxx crate", wire.NewCRC16(0x1021, 0xB2AA, 0, true), 0x63D0},
		{"CRC-16/MODBUS, crc-catalog crate 2.5.0", wire.NewCRC16(0x8005, 0xFFFF, 0, true), 0x4B37},
		{"CRC-16/PROFIBUS, READ crc-catalog crate 2.5.0", wire.NewCRC16(0x1DCF, 0xFFFF, 0xFFFF, false), 0xA819},
		{"CRC-16/IBM-SDLC (X-25), READ crc crate 2.0.0-rc.2 docs", wire.NewCRC16(0x1021, 0xFFFF, 0xFFFF, true), 0x906E},
	} {
		t.Run(row.source, func(t *testing.T) {
			assert.Equal(t, row.want, row.crc.Sum([]byte(check)))
		})
	}
}

// Computed by a second implementation (crcmod agrees with it), not published.
func TestCRC8Vectors(t *testing.T) {
	for in, want := range map[string]uint16{
		"": 0x00, "00": 0x00, "FF": 0xF3, "0102030405": 0xBC, "DEADBEEF": 0xCA, "55AA55AA": 0x6F,
	} {
		data, err := hex.DecodeString(in)
		require.NoError(t, err)
		assert.Equal(t, want, wire.NewCRC8(0x07, 0, 0, false).Sum(data), "%q", in)
	}
}

// A message with its own check behind it, in the order of the register, has check 0.
func TestCRCOfMessageAndCheckIsZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		data := rapid.SliceOf(rapid.Byte()).Draw(t, "data")
		poly := rapid.Uint16Min(1).Draw(t, "poly")
		init := rapid.Uint16().Draw(t, "init")
		reflected := rapid.Bool().Draw(t, "reflected")
		c := wire.NewCRC16(poly, init, 0, reflected)
		s := c.Sum(data)
		tail := []byte{byte(s >> 8), byte(s)}
		if reflected {
			tail[0], tail[1] = tail[1], tail[0]
		}
		assert.Zero(t, c.Sum(append(data, tail...)))
	})
}

func TestSumAndXor(t *testing.T) {
	// The characters "1" to "9" add up to 9*0x30 + 45 = 0x1DD; their exclusive or is 0x31.
	assert.EqualValues(t, 0xDD, wire.SumOf8([]byte(check)))
	assert.EqualValues(t, 0x31, wire.XorOf8([]byte(check)))
	// NMEA 0183 sentence quoted at rdrr.io, package em38, nmea_check: checksum 79.
	assert.EqualValues(t, 0x79, wire.XorOf8([]byte("GPGGA,015808.00,2726.53758,S,15126.05255,E,1,08,1.0,365.1,M,39.5,M,,")))
}
