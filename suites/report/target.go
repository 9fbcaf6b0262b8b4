package report

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// Fill lets write fill a file at path. A file that is there already is replaced when the
// new one is whole and not before: it is written beside it and renamed. What is no
// regular file, a device or a pipe, is written to as it is and never taken away; a pipe
// that nobody reads from is an error.
func Fill(path string, write func(io.Writer) error) error {
	there, err := os.OpenFile(path, os.O_WRONLY|syscall.O_NONBLOCK, 0)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if _, err := os.Lstat(path); err == nil {
			return fmt.Errorf("%s is a link to a file that is not there; name the file itself", path)
		}
		return fillBeside(path, 0o666, write)
	case errors.Is(err, syscall.ENXIO):
		return fmt.Errorf("nobody reads from the pipe %s; start what reads it first, or name a file", path)
	case err != nil:
		return err
	}
	info, err := there.Stat()
	if err == nil && !info.Mode().IsRegular() {
		return errors.Join(write(there), there.Close())
	}
	if err = errors.Join(err, there.Close()); err != nil {
		return err
	}
	whole, err := filepath.EvalSymlinks(path) // a link stays one
	if err != nil {
		return err
	}
	return fillBeside(whole, info.Mode().Perm(), write)
}

// fillBeside writes a new file beside path and renames it to path. After an error
// everything is as it was before.
func fillBeside(path string, mode fs.FileMode, write func(io.Writer) error) error {
	part := filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+"."+rand.Text()[:8]+".part")
	f, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		var failed *fs.PathError
		if errors.As(err, &failed) {
			err = failed.Err
		}
		return fmt.Errorf("%s cannot be written: %w; name a file in a folder that is there and can be written to", path, err)
	}
	if err = write(f); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(part, path)
	}
	if err != nil {
		_ = os.Remove(part) // the error says what is wrong
	}
	return err
}

// WriteFile fills a file at path with data.
func WriteFile(path string, data []byte) error {
	return Fill(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}
