//go:build !linux

package raspberry

import (
	"os"
	"time"
)

func lockDevice(device string) (*os.File, error) { return os.OpenFile(device, os.O_RDWR, 0) }

func checkSpeed(*os.File, int) error { return nil }

func interrupted(error) bool { return false }

func sharpen() {}

func nap(d time.Duration) { time.Sleep(d) }
