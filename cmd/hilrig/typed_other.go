//go:build !linux

package main

import (
	"errors"
	"os"
)

// dropTyped fails: a bench goes live on Linux only.
func dropTyped(*os.File) error { return errors.New("the terminal's input: only on Linux") }
