//go:build !linux

package serial

import (
	"os"
	"time"
)

func lockDevice(device string) (*os.File, error) { return os.OpenFile(device, os.O_RDWR, 0) }

func checkSpeed(*os.File, int) error { return nil }

func interrupted(error) bool { return false }

func nap(d time.Duration) { time.Sleep(d) }
