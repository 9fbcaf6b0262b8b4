package suites

import (
	"fmt"

	"hilrig/rig/board"
	"hilrig/stimulus/wire"
)

// yawFormat returns how the board finds the yaw rate in a frame. The error names the port whose
// frames cannot be told from other bytes.
func yawFormat(f *wire.Frame) (y board.YawFormat, err error) {
	for i := range f.Fields {
		x := &f.Fields[i]
		switch x.Kind {
		case wire.Constant:
			for k, c := range x.Bytes {
				y.Constants = append(y.Constants, board.Expects{Number: board.Number{Bit: 8 * (y.Size + k), Width: 8}, Is: uint64(c)})
			}
			y.Size += len(x.Bytes)
		case wire.Bits:
			bit := 8 * y.Size
			for k := range x.Parts {
				part := &x.Parts[k]
				put(&y, part, board.Number{Bit: bit, Width: part.Width, LowFirst: x.LowFirst, Signed: part.Signed})
				bit += part.Width
			}
			y.Size += (bit - 8*y.Size + 7) / 8
		default:
			n := board.Number{Bit: 8 * y.Size, Width: 8 * sizeOfField(x), LowFirst: x.LittleEndian, Signed: x.Signed}
			n.Float = x.Kind == wire.Float32 || x.Kind == wire.Float64
			put(&y, x, n)
			y.Size += n.Width / 8
		}
	}
	switch s := &f.Stuffing; s.Kind {
	case wire.Escaped:
		y.Stuffing = board.Stuffing{Kind: board.StuffingEscapes, Delimiter: s.Delimiter, Escape: s.Escape, DelimiterAs: s.DelimiterAs, EscapeAs: s.EscapeAs}
	case wire.Overhead:
		y.Stuffing.Kind = board.StuffingOverhead
	}
	if y.Size > 200 {
		return y, fmt.Errorf("%s: the frames on %s have %d bytes; the built-in board has room for 200", policyBoard, f.Port, y.Size)
	}
	return y, nil
}

// sizeOfField returns how many bytes a field takes.
func sizeOfField(x *wire.Field) int {
	switch x.Kind {
	case wire.Float32:
		return 4
	case wire.Float64:
		return 8
	case wire.CRC16:
		return 2
	case wire.Sum8, wire.Xor8, wire.CRC8:
		return 1
	}
	return x.Size
}

// put adds what a field carries at a place to the format.
func put(y *board.YawFormat, x *wire.Field, n board.Number) {
	switch x.Kind {
	case wire.Constant:
		n.Signed = false
		y.Constants = append(y.Constants, board.Expects{Number: n, Is: x.Value})
	case wire.Sequence:
		y.Count = n
	case wire.Integer, wire.Float32, wire.Float64:
		if x.Channel == "yaw_rate" && y.Value.Width == 0 {
			y.Value, y.Scale, y.Offset = n, x.Scale, x.Offset
			if y.Scale == 0 {
				y.Scale = 1
			}
		}
	default:
		c := board.Checksum{Number: n, From: x.From, To: x.To, Kind: board.CheckCRC, Poly: uint64(x.Poly), Init: uint64(x.Init), XorOut: uint64(x.XorOut), Reflected: x.Reflected}
		if c.To == 0 {
			c.To = n.Bit / 8
		}
		switch x.Kind {
		case wire.Sum8:
			c.Kind = board.CheckSum
		case wire.Xor8:
			c.Kind = board.CheckXor
		}
		y.Checks = append(y.Checks, c)
	}
}
