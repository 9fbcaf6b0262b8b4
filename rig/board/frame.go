package board

import "hilrig/rig/signal"

// The yaw sensor's frame: two constant bytes, a sequence number, the yaw rate
// in 1/16 deg/s as 16 bit two's complement, high byte first, and a CRC-8 over
// sequence and yaw rate.
const (
	header0   = 0xA5
	header1   = 0x5A
	frameSize = 6
	crcFrom   = 2
)

// crcTable is the CRC-8 of each single byte, polynomial 0x07.
var crcTable = func() (table [256]uint8) {
	for i := range table {
		crc := uint8(i)
		for range 8 {
			if crc&0x80 != 0 {
				crc = crc<<1 ^ 0x07
			} else {
				crc <<= 1
			}
		}
		table[i] = crc
	}
	return table
}()

// crc8 returns the CRC-8 of data with initial value 0.
func crc8(data []byte) uint8 {
	crc := uint8(0)
	for _, b := range data {
		crc = crcTable[crc^b]
	}
	return crc
}

// frameParser finds frames in a stream of bytes and hands the yaw rates of the
// good ones to the sensor.
type frameParser struct {
	yaw       *yawSensor
	unchecked bool // seeded fault: the checksum is not looked at
	buffer    [frameSize]byte
	n         int
}

// parse takes in one byte, complete at the given time.
func (f *frameParser) parse(b byte, at signal.Time) {
	f.buffer[f.n] = b
	switch {
	case f.n == 0 && b != header0:
		return
	case f.n == 1 && b != header1:
		if b != header0 {
			f.n = 0
		}
		return
	}
	f.n++
	if f.n < frameSize {
		return
	}
	f.n = 0
	if f.unchecked || crc8(f.buffer[crcFrom:frameSize-1]) == f.buffer[frameSize-1] {
		f.yaw.sequence(uint64(f.buffer[2]), at)
		f.yaw.update(int16(uint16(f.buffer[3])<<8|uint16(f.buffer[4])), at)
	}
}

func (f *frameParser) restart() { f.n = 0 }
