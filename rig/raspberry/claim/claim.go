//go:build unix

// Package claim keeps two programs from driving one set of lines: who means to drive this
// machine's pins, or a bank in a file, claims them first, and the second is denied them and
// told of the first.
package claim

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode"

	"golang.org/x/sys/unix"
)

// Claim is one program's hold on this machine's pins, or on a bank in a file: no other
// program that asks for it gets it meanwhile. It is a lock of the kernel's on a file that
// says who holds it, and the kernel lets go of it when the program ends, however it does,
// with all the programs that were handed [Claim.File]. It keeps nobody from the lines who
// does not ask.
type Claim struct{ file *os.File }

// errClaimed is the error of a lock that somebody has.
var errClaimed = errors.New("claimed")

// Folders are where the lock on the pins lies, for every user of the machine the same: in
// the first that there is. Only tests have others, so that they keep nobody from the pins.
var Folders = []string{"/run/lock", "/tmp"}

// Pins claims all pins of this machine: two programs that drive pins of one Pi are
// never meant. The error names who has them.
func Pins() (*Claim, error) {
	for _, folder := range Folders {
		if about, err := os.Stat(folder); err == nil && about.IsDir() {
			return claim("the pins of this machine", filepath.Join(folder, "hilrig-pins.lock"))
		}
	}
	return nil, fmt.Errorf("the pins of this machine: there is no folder for the lock on them, none of %s; make one", strings.Join(Folders, ", "))
}

// PinBank claims the bank in the file at path, which has to be there, by a file beside it. The
// error names who holds it.
func PinBank(path string) (*Claim, error) {
	real, err := filepath.EvalSymlinks(path)
	if err != nil {
		return nil, fmt.Errorf("bank in a file: %w", err)
	}
	return claim("the bank "+path, real+".lock")
}

// File is for programs that this one starts: a program that holds it holds the claim too.
func (c *Claim) File() *os.File { return c.file }

// Release lets go of the claim, unless another program was handed it. The file stays: who
// removed it could take it from somebody who is about to lock it.
func (c *Claim) Release() error { return c.file.Close() }

// claim locks the file at path for what it stands for.
func claim(what, path string) (*Claim, error) {
	for {
		f, err := openLock(path)
		if err != nil {
			return nil, fmt.Errorf("%s: the lock on it: %w", what, err)
		}
		err = lock(f, path)
		switch {
		case err == nil:
			return &Claim{f}, nil
		case errors.Is(err, errClaimed):
			err = inUse(what, holder(f))
		case errors.Is(err, fs.ErrNotExist): // removed since it was opened
			f.Close()
			continue
		default:
			err = fmt.Errorf("%s: the lock on it: %w", what, err)
		}
		f.Close()
		return nil, err
	}
}

// InUse is the error of a claim that another program has.
type InUse struct {
	Process int // the number of the other program's process; 0: not known
	says    string
}

// Error names the other program.
func (e *InUse) Error() string { return e.says }

func inUse(what, who string) *InUse {
	e := &InUse{says: fmt.Sprintf("%s: in use by %s; wait until that has ended, or end it", what, who)}
	if at := strings.LastIndex(who, "(process "); at >= 0 {
		_, _ = fmt.Sscanf(who[at:], "(process %d", &e.Process) // else it is not known
	}
	return e
}

// openLock opens a lock's file, or makes it for all users. One that another user made is
// opened without O_CREAT, which Linux refuses in a folder that all may write to
// (torvalds/linux, Documentation/admin-guide/sysctl/fs.rst, protected_regular).
func openLock(path string) (*os.File, error) {
	const how = os.O_RDWR | unix.O_NOFOLLOW | unix.O_NONBLOCK
	f, err := os.OpenFile(path, how, 0)
	if errors.Is(err, fs.ErrNotExist) {
		f, err = os.OpenFile(path, how|os.O_CREATE|os.O_EXCL, 0o666)
		switch {
		case errors.Is(err, fs.ErrExist): // somebody else made it just now
			f, err = os.OpenFile(path, how, 0)
		case err == nil:
			err = f.Chmod(0o666) // whatever the user's umask is
		}
	}
	if err != nil {
		if f != nil {
			f.Close()
		}
		return nil, err
	}
	if about, err := f.Stat(); err != nil || !about.Mode().IsRegular() {
		f.Close()
		return nil, errors.Join(err, fmt.Errorf("%s is no ordinary file; remove it", path))
	}
	return f, nil
}

// lock locks an open file, which has to be the one at path still, and writes into it who
// has it.
func lock(f *os.File, path string) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	for errors.Is(err, unix.EINTR) {
		err = unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	}
	switch {
	case errors.Is(err, unix.EWOULDBLOCK):
		return errClaimed
	case err != nil:
		return err
	}
	there, err := os.Lstat(path)
	if err != nil {
		return err
	}
	if about, err := f.Stat(); err != nil || !os.SameFile(about, there) {
		return errors.Join(err, fs.ErrNotExist)
	}
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err = f.WriteAt(fmt.Appendf(nil, "%s (process %d, since %s)\n", brief(os.Args), os.Getpid(), time.Now().Format(time.DateTime)), 0)
	return err
}

// holder returns what a lock's file says of who holds it.
func holder(f *os.File) string {
	data, _ := io.ReadAll(io.NewSectionReader(f, 0, 1000)) // without it that is not known
	line, _, _ := strings.Cut(string(data), "\n")
	line = strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, line)
	if line == "" {
		return "another program, which does not say its name"
	}
	return line
}

// brief returns a command line, of a long one its beginning: what reads the claim reads no more
// than a few lines.
func brief(args []string) string {
	const most = 200 // bytes
	line := strings.Join(args, " ")
	if len(line) <= most {
		return line
	}
	return strings.ToValidUTF8(line[:most], "") + "..."
}
