//go:build !linux

package guard

import (
	"context"
	"errors"
	"os"

	"hilrig/rig"
)

var errLinux = errors.New("interlock: only on Linux")

// Settings say what a guard stands before.
type Settings struct {
	Parts
	Power     rig.Power
	Tested    rig.InterlockParts
	Rotation  bool
	Trial     bool
	Confirmed bool
	Rank      int
	Env       []string
	Input     *os.File
}

// Ending is how it ended.
type Ending struct {
	Tripped bool
	Why     string
	Code    int
	Worker  string
}

// Run fails: nothing stands before the motors on this system.
func Run(Settings) (Ending, error) { return Ending{}, errLinux }

// Worker is a process under a guard, seen from itself.
type Worker struct{}

// Inside says whether this program was started by a guard.
func Inside() bool { return false }

// Join fails.
func Join(context.Context) (*Worker, error) { return nil, errLinux }

// Context is never done.
func (*Worker) Context() context.Context { return context.Background() }

// Why is empty.
func (*Worker) Why() string { return "" }

// Holds does nothing.
func (*Worker) Holds(*Parts) {}

// Live refuses.
func (*Worker) Live() error { return errLinux }

// Leave does nothing.
func (*Worker) Leave() {}

// Feed does nothing.
func (*Worker) Feed() {}

// Bye does nothing.
func (*Worker) Bye() {}

func (*Worker) tell(wordKind)  {}
func (*Worker) tripped() error { return nil }
func (*Worker) opened()        {}
func (*Worker) finished()      {}
