package demo

import "path/filepath"

// LogReader returns what reads the drive logs that suites replay: files, by way of read, and the
// demo's. Of one that is both, the standard suites mean the demo's, and a suite of one's own means the
// file; own says that one is among those that are played.
func LogReader(read func(path string) ([]byte, error), own bool) func(path string) ([]byte, error) {
	return func(path string) ([]byte, error) {
		if path != LogPath {
			return read(filepath.FromSlash(path))
		}
		if data, err := read(filepath.FromSlash(path)); own && err == nil {
			return data, nil
		}
		return LogCSV, nil
	}
}
