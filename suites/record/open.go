package record

import (
	"fmt"
	"io"
	"os"
	"syscall"
)

// largest is how many bytes a file of a record has at most; those of the standard suites
// have some 2 MB.
const largest = 1 << 30

// readFile reads a file of a record. What is no regular file is an error and is never
// waited for: a pipe that nobody writes to would be for ever.
func readFile(path string) ([]byte, error) {
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s is no regular file", path)
	case info.Size() > largest:
		return nil, fmt.Errorf("%s has %d bytes, more than any file of a record", path, info.Size())
	}
	return io.ReadAll(io.LimitReader(f, largest))
}
