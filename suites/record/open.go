package record

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"hilrig/suites/language"
)

// largest is how many bytes a file of a record has at most; those of the standard suites
// have some 2 MB.
const largest = 1 << 30

// readFile reads a file of a record.
func readFile(path string) ([]byte, error) { return readRegular(path, largest) }

// ReadRegular returns what is in a regular file of at most so many bytes. What is no regular file is refused
// before it is opened: a pipe that nobody writes to would be waited for, a device without an end would fill
// the memory, and to open a serial device may restart the board behind it. Of a file that is too large, or
// grows meanwhile, no more than that is read. The error names the path, and where nothing is there the name beside
// it that is most likely meant.
func ReadRegular(path string, most int64) ([]byte, error) {
	data, err := readRegular(path, most)
	if failed, ok := errors.AsType[*unopened](err); ok && errors.Is(err, fs.ErrNotExist) {
		failed.remedy = "; " + meant(path)
	}
	return data, err
}

// readRegular does so without a guess of what is meant.
func readRegular(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, &unopened{path: path, err: err}
	}
	if err := unreadable(path, info, most); err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, &unopened{path: path, err: err}
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

// unopened says in plain words why a file is not opened.
type unopened struct {
	path   string
	err    error  // of the operating system
	remedy string // with a semicolon before it; empty: there is none
}

func (u *unopened) Error() string {
	switch {
	case errors.Is(u.err, fs.ErrNotExist):
		return u.path + " is not there" + u.remedy
	case errors.Is(u.err, fs.ErrPermission):
		return u.path + " may not be read by this user; chmod u+r, or chown, lets its owner read it"
	case errors.Is(u.err, syscall.ENOTDIR):
		return u.path + " is not there: a part of its path is a file and no folder"
	}
	if failed, ok := errors.AsType[*fs.PathError](u.err); ok {
		return u.path + " cannot be read: " + failed.Err.Error()
	}
	return u.path + " cannot be read: " + u.err.Error()
}

func (u *unopened) Unwrap() error { return u.err }

// meant says what to name in place of a path at which nothing is.
func meant(path string) string {
	folder := filepath.Dir(path)
	entries, err := os.ReadDir(folder)
	if err != nil {
		return folder + " is no folder that can be read either"
	}
	var names []string // without the ending, which any two files may have in common
	ending := filepath.Ext(path)
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), ending); ok && !e.IsDir() {
			names = append(names, name)
		}
	}
	if near := language.Nearest(strings.TrimSuffix(filepath.Base(path), ending), names); near != "" {
		return "use " + filepath.Join(folder, near+ending)
	}
	return "name a file that is"
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
