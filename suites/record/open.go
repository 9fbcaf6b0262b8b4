package record

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"syscall"
)

// largest is how many bytes a file of a record has at most; those of the standard suites
// have some 2 MB.
const largest = 1 << 30

// readFile reads a file of a record.
func readFile(path string) ([]byte, error) { return ReadRegular(path, largest) }

// ReadRegular returns what is in a regular file of at most so many bytes. What is no regular file is refused
// before it is opened: a pipe that nobody writes to would be waited for, a device without an end would fill
// the memory, and to open a serial device may restart the board behind it. Of a file that is too large, or
// grows meanwhile, no more than that is read. The error names the path.
func ReadRegular(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	if failed, ok := errors.AsType[*fs.PathError](err); ok {
		failed.Op = "open" // how it was found out is not what went wrong
	}
	if err == nil {
		err = unreadable(path, info, most)
	}
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if info, err = f.Stat(); err == nil { // another may stand there by now
		err = unreadable(path, info, most)
	}
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most {
		err = fmt.Errorf("%s grew while it was read, to more than %d bytes", path, most)
	}
	if err != nil {
		return nil, err
	}
	return data, nil
}

// unreadable says why a file is not read; nil: it is.
func unreadable(path string, info fs.FileInfo, most int64) error {
	switch mode := info.Mode(); {
	case mode.IsDir():
		return fmt.Errorf("%s is a folder where a file is expected; name a file in it", path)
	case mode&fs.ModeNamedPipe != 0:
		return fmt.Errorf("%s is a pipe, which is not waited for; write what comes out of it to a file, and name that", path)
	case !mode.IsRegular():
		return fmt.Errorf("%s is no regular file but a device or a socket, which is not read; name a file", path)
	case info.Size() > most:
		return fmt.Errorf("%s has %d bytes, and %d are read at most; name a smaller file", path, info.Size(), most)
	}
	return nil
}
