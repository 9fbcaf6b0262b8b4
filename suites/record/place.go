package record

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Home returns the folder that records go to unless told otherwise:
// $XDG_STATE_HOME/hilrig/records, or ~/.local/state/hilrig/records where that is
// not set. It need not exist.
func Home() (string, error) {
	state := os.Getenv("XDG_STATE_HOME")
	if !filepath.IsAbs(state) { // the specification has a relative path ignored
		home, err := os.UserHomeDir()
		if err != nil {
			return "", fmt.Errorf("no folder for records: %w; set XDG_STATE_HOME, or name one with --record", err)
		}
		state = filepath.Join(home, ".local", "state")
	}
	return filepath.Join(state, "hilrig", "records"), nil
}

// most is how many records may begin in one second.
const most = 99

// newFolder makes a folder of its own under home, named by the date and time
// and, where that is taken, a counter. Making it is what claims the name, so that two runs
// never share one.
func newFolder(home string, began time.Time) (string, error) {
	if err := os.MkdirAll(home, 0o700); err != nil {
		return "", fmt.Errorf("no folder for records: %w", err)
	}
	name := began.Format("2006-01-02-150405")
	for n := 1; n <= most; n++ {
		path := filepath.Join(home, name)
		if n > 1 {
			path += fmt.Sprintf("-%02d", n)
		}
		err := os.Mkdir(path, 0o700)
		if err == nil {
			return path, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return "", fmt.Errorf("no folder for the record: %w", err)
		}
	}
	return "", fmt.Errorf("%d records named %s are in %s already; wait a second", most, name, home)
}

// List returns the folders of the records under home, oldest first by name.
// A home that does not exist holds none.
func List(home string) ([]string, error) {
	entries, err := os.ReadDir(home)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var folders []string
	for _, e := range entries {
		path := filepath.Join(home, e.Name())
		if _, err := os.Stat(filepath.Join(path, planName)); e.IsDir() && err == nil {
			folders = append(folders, path)
		}
	}
	return folders, nil
}
