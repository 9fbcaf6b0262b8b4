package demo

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Make writes files to start from into a folder, which is made where it is not there, and returns their
// paths: car, bench, suite and the hilrig.yaml that names them, or that of a stand alone. Where one of them is there already it writes
// none, and the error names it.
func Make(folder string, stand bool) (paths []string, err error) {
	name, err := NameOf(folder)
	if err != nil {
		return nil, err
	}
	files := append(New(name), NewSetup(name))
	if stand {
		files = []File{NewStand(name)}
	}
	return Write(folder, files)
}

// NameOf returns the name that a folder gives what is in it.
func NameOf(folder string) (string, error) {
	full, err := filepath.Abs(folder)
	return filepath.Base(full), err
}

// Write writes files into a folder as [Make] does.
func Write(folder string, files []File) (paths []string, err error) {
	for _, f := range files {
		path := filepath.Join(folder, f.Name)
		if _, err := os.Lstat(path); err == nil {
			return nil, fmt.Errorf("%s is there already; choose another name, or move it away", path)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return nil, err
		}
		paths = append(paths, path)
	}
	if err := os.MkdirAll(folder, 0o777); err != nil {
		return nil, err
	}
	for i, f := range files {
		if err := writeNew(paths[i], f.Data); err != nil {
			return nil, err
		}
	}
	return paths, nil
}

// writeNew writes a file that must not be there yet.
func writeNew(path string, data []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	return errors.Join(err, f.Close())
}
