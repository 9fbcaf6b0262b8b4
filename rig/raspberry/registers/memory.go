package registers

import "sync/atomic"

// Memory is a bank in memory: what is written is read back. It may be used by
// several goroutines.
type Memory struct {
	level atomic.Uint32
	wires []memoryWire
}

type memoryWire struct{ from, to uint32 }

// Wire lays a piece of wire: GPIO to takes on every level that from is given from
// now on. Lay them before the bank is used.
func (m *Memory) Wire(from, to uint8) {
	m.wires = append(m.wires, memoryWire{1 << (from & 31), 1 << (to & 31)})
}

// Set makes lines high.
//
//go:nosplit
func (m *Memory) Set(mask uint32) { m.level.Or(m.along(mask)) }

// Clear makes lines low.
//
//go:nosplit
func (m *Memory) Clear(mask uint32) { m.level.And(^m.along(mask)) }

// Level reads all lines.
//
//go:nosplit
func (m *Memory) Level() uint32 { return m.level.Load() }

// along adds the lines that wires lead to.
//
//go:nosplit
func (m *Memory) along(mask uint32) uint32 {
	for i := range m.wires {
		if mask&m.wires[i].from != 0 {
			mask |= m.wires[i].to
		}
	}
	return mask
}
