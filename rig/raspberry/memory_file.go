//go:build unix

package raspberry

import (
	"fmt"
	"os"
	"sync/atomic"
	"unsafe"

	"golang.org/x/sys/unix"
)

// MemoryFile is a bank in memory that several programs have at once: its levels
// are the first four bytes of a file, bit n of the word, in the machine's order,
// GPIOn. It is both a [Bank] and [Lines]; every line is whatever it is used for. It
// may be used by several goroutines.
type MemoryFile struct {
	mapped []byte
	level  *uint32 // in mapped
	fresh  bool
}

// memoryFileSize is how many bytes the file has.
const memoryFileSize = 4

// OpenMemoryFile opens a bank that is the file at path. Where there is none it is
// made, all lines low.
func OpenMemoryFile(path string) (*MemoryFile, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("bank in a file: %w", err)
	}
	defer f.Close()
	about, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("bank in a file: %w", err)
	}
	m := &MemoryFile{fresh: about.Size() == 0}
	switch {
	case !about.Mode().IsRegular():
		return nil, fmt.Errorf("bank in a file: %s is no ordinary file; name a new one", path)
	case m.fresh:
		if err := f.Truncate(memoryFileSize); err != nil {
			return nil, fmt.Errorf("bank in a file: %w", err)
		}
	case about.Size() != memoryFileSize:
		return nil, fmt.Errorf("bank in a file: %s has %d bytes and a bank has %d; name a new file", path, about.Size(), memoryFileSize)
	}
	if m.mapped, err = unix.Mmap(int(f.Fd()), 0, memoryFileSize, unix.PROT_READ|unix.PROT_WRITE, unix.MAP_SHARED); err != nil {
		return nil, fmt.Errorf("bank in a file: %s: %w", path, err)
	}
	m.level = (*uint32)(unsafe.Pointer(&m.mapped[0])) // a map begins with a page
	return m, nil
}

// Fresh says whether the file was made, or empty, when it was opened.
func (m *MemoryFile) Fresh() bool { return m.fresh }

// Set makes lines high.
//
//go:nosplit
func (m *MemoryFile) Set(mask uint32) { atomic.OrUint32(m.level, mask) }

// Clear makes lines low.
//
//go:nosplit
func (m *MemoryFile) Clear(mask uint32) { atomic.AndUint32(m.level, ^mask) }

// Level reads all lines.
//
//go:nosplit
func (m *MemoryFile) Level() uint32 { return atomic.LoadUint32(m.level) }

// Output makes a line's level what is said.
func (m *MemoryFile) Output(gpio int, level bool) error { return m.Write(gpio, level) }

// Input leaves a line as it is: in memory nothing pulls.
func (m *MemoryFile) Input(gpio int, _ Pull) error { return onBank(gpio) }

// Write changes a line's level.
func (m *MemoryFile) Write(gpio int, level bool) error {
	if err := onBank(gpio); err != nil {
		return err
	}
	if level {
		m.Set(1 << gpio)
	} else {
		m.Clear(1 << gpio)
	}
	return nil
}

// Read reads a line.
func (m *MemoryFile) Read(gpio int) (bool, error) {
	return m.Level()>>(gpio&31)&1 != 0, onBank(gpio)
}

// Close gives the file back, its levels in it. The map lasts as long as the program,
// so that a loop which still runs does no harm.
func (m *MemoryFile) Close() error { return nil }

// onBank refuses a line that a bank does not have.
func onBank(gpio int) error {
	if gpio < 0 || gpio > 31 {
		return fmt.Errorf("GPIO%d; a bank has GPIO0 to GPIO31", gpio)
	}
	return nil
}
