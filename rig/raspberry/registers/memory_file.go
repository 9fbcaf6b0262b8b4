//go:build unix

package registers

import (
	"fmt"
	"os"
	"sync/atomic"
	"unsafe"

	"golang.org/x/sys/unix"
	"hilrig/rig/raspberry/hostlines"
)

// MemoryFile is a bank in memory that several programs have at once: its levels
// are the first four bytes of a file, bit n of the word, in the machine's order,
// GPIOn. It is both a [PinBank] and [Lines]; every line is whatever it is used for. It
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
	f, fresh, err := openPinBank(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	m := &MemoryFile{fresh: fresh}
	if fresh {
		if err := f.Truncate(memoryFileSize); err != nil {
			return nil, fmt.Errorf("bank in a file: %w", err)
		}
	}
	if m.mapped, err = unix.Mmap(int(f.Fd()), 0, memoryFileSize, unix.PROT_READ|unix.PROT_WRITE, unix.MAP_SHARED); err != nil {
		return nil, fmt.Errorf("bank in a file: %s: %w", path, err)
	}
	m.level = (*uint32)(unsafe.Pointer(&m.mapped[0])) // a map begins with a page
	return m, nil
}

// MakePinBank makes the file of a bank where there is none, one that is still fresh. Its error
// says why what is there can be no bank.
func MakePinBank(path string) error {
	f, _, err := openPinBank(path)
	if err != nil {
		return err
	}
	return f.Close()
}

// openPinBank opens the file of a bank, and makes it where there is none. A fresh one is
// empty.
func openPinBank(path string) (f *os.File, fresh bool, err error) {
	if f, err = os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600); err != nil {
		return nil, false, fmt.Errorf("bank in a file: %w", err)
	}
	about, err := f.Stat()
	switch {
	case err != nil:
		err = fmt.Errorf("bank in a file: %w", err)
	case !about.Mode().IsRegular():
		err = fmt.Errorf("bank in a file: %s is no ordinary file; name a new one", path)
	case about.Size() != 0 && about.Size() != memoryFileSize:
		err = fmt.Errorf("bank in a file: %s has %d bytes and a bank has %d; name a new file", path, about.Size(), memoryFileSize)
	}
	if err != nil {
		f.Close()
		return nil, false, err
	}
	return f, about.Size() == 0, nil
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
func (m *MemoryFile) Input(gpio int, _ hostlines.Pull) error { return bankHas(gpio) }

// Write changes a line's level.
func (m *MemoryFile) Write(gpio int, level bool) error {
	if err := bankHas(gpio); err != nil {
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
	return m.Level()>>(gpio&31)&1 != 0, bankHas(gpio)
}

// Close gives the file back, its levels in it. The map lasts as long as the program,
// so that a loop which still runs does no harm.
func (m *MemoryFile) Close() error { return nil }

// bankHas refuses a line that a bank does not have.
func bankHas(gpio int) error {
	if gpio < 0 || gpio > 31 {
		return fmt.Errorf("GPIO%d; a bank has GPIO0 to GPIO31", gpio)
	}
	return nil
}
