//go:build linux

package cdev

import (
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// The kernel refuses calls whose numbers hold another size; the sizes are those
// of linux/gpio.h, which pads for 32-bit programs to see the same.
func TestStructuresHaveTheKernelsSizes(t *testing.T) {
	for _, row := range []struct {
		name       string
		got, bytes uintptr
	}{
		{"request", unsafe.Sizeof(unix.GPIOV2LineRequest{}), 592},
		{"event", unsafe.Sizeof(unix.GPIOV2LineEvent{}), 48},
		{"config", unsafe.Sizeof(unix.GPIOV2LineConfig{}), 272},
		{"line", unsafe.Sizeof(unix.GPIOV2LineInfo{}), 256},
		{"values", unsafe.Sizeof(unix.GPIOV2LineValues{}), 16},
		{"chip", unsafe.Sizeof(unix.GPIOChipInfo{}), 68},
		{"request, by the number of its call", unix.GPIO_V2_GET_LINE_IOCTL >> 16 & 0x3fff, 592},
		{"values, by the number of their call", unix.GPIO_V2_LINE_SET_VALUES_IOCTL >> 16 & 0x3fff, 16},
	} {
		assert.Equal(t, row.bytes, row.got, row.name)
	}
}

func TestOpenReportsWhatIsNoChip(t *testing.T) {
	_, err := Open("/dev/null")
	var errno unix.Errno // ENOTTY of the kernel, ENOSYS of an emulator of programs
	require.ErrorAs(t, err, &errno)
	assert.ErrorContains(t, err, "/dev/null is no GPIO chip")

	_, err = Open("/dev/gpiochip-none")
	require.ErrorIs(t, err, unix.ENOENT)
}

func TestLevelsFollowTheEdges(t *testing.T) {
	const rising, falling = unix.GPIO_V2_LINE_EVENT_RISING_EDGE, unix.GPIO_V2_LINE_EVENT_FALLING_EDGE
	for _, row := range []struct {
		name     string
		levels   uint64 // read at 100
		events   []unix.GPIOV2LineEvent
		start    uint64
		repeated []bool
	}{
		{"a pulse", 0,
			[]unix.GPIOV2LineEvent{{Timestamp_ns: 200, Id: rising, Offset: 7}, {Timestamp_ns: 300, Id: falling, Offset: 7}},
			0, []bool{false, false}},
		{"an edge before the level was read", 0b10,
			[]unix.GPIOV2LineEvent{{Timestamp_ns: 90, Id: rising, Offset: 3}, {Timestamp_ns: 300, Id: falling, Offset: 3}},
			0, []bool{false, false}},
		{"a pulse too short to read its top", 0,
			[]unix.GPIOV2LineEvent{{Timestamp_ns: 200, Id: falling, Offset: 7}, {Timestamp_ns: 201, Id: falling, Offset: 7}},
			0, []bool{true, true}},
		{"lines do not mix", 0b01,
			[]unix.GPIOV2LineEvent{{Timestamp_ns: 200, Id: rising, Offset: 3}, {Timestamp_ns: 210, Id: falling, Offset: 7}},
			0b01, []bool{false, false}},
	} {
		t.Run(row.name, func(t *testing.T) {
			var o order
			o.begin([]uint32{7, 3}, row.levels, 100)
			var repeated []bool
			for i := range row.events {
				e := o.event(&row.events[i])
				assert.Equal(t, map[uint32]int{7: 0, 3: 1}[row.events[i].Offset], e.Line)
				repeated = append(repeated, e.Repeated)
			}
			assert.Equal(t, row.start, o.start)
			assert.Equal(t, row.repeated, repeated)
		})
	}

	var o order
	o.begin([]uint32{7}, 0, 0)
	assert.Equal(t, -1, o.event(&unix.GPIOV2LineEvent{Offset: 8, Seqno: 1}).Line)
}
