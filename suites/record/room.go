package record

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"

	"golang.org/x/sys/unix"
)

// spare is what a disk has to have left beside a record, in bytes: other programs write too.
const spare = 16 << 20

// Free returns how many bytes the file system of a folder has left for this user; a folder that
// does not exist yet will be where the nearest above it is that does.
func Free(folder string) (int64, error) {
	path, err := filepath.Abs(folder)
	if err != nil {
		return 0, fmt.Errorf("record: %w", err)
	}
	for {
		_, err := os.Stat(path)
		if err == nil || !errors.Is(err, fs.ErrNotExist) || path == filepath.Dir(path) {
			break
		}
		path = filepath.Dir(path)
	}
	var s unix.Statfs_t
	if err := unix.Statfs(path, &s); err != nil {
		return 0, fmt.Errorf("record: %s: %w", path, err)
	}
	return int64(min(s.Bavail, uint64(1<<62)/uint64(s.Bsize))) * int64(s.Bsize), nil
}

// Room says by its error where the folder home has too little room for a record of so many bytes.
// Where it cannot be found out there is room: what cannot be written is said by the writer.
func Room(home string, bytes int64) error {
	free, err := Free(home)
	if err != nil || free >= bytes+spare {
		return nil
	}
	return fmt.Errorf("the record may take %s, and %s has %s left; make room (hilrig records lists what is kept)",
		Megabytes(bytes), home, Megabytes(free))
}

// Megabytes writes a number of bytes as "3 MB", rounded up.
func Megabytes(bytes int64) string { return strconv.FormatInt((bytes+999_999)/1_000_000, 10) + " MB" }
