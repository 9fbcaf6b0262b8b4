package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// roomFor takes so many bytes and then fails.
type roomFor struct {
	bytes.Buffer
	left int
	err  error // nil: it takes less than it is given and says nothing
}

func (r *roomFor) Write(p []byte) (int, error) {
	n := min(len(p), r.left)
	r.left -= n
	r.Buffer.Write(p[:n])
	if n < len(p) {
		return n, r.err
	}
	return n, nil
}

func TestResultsThatAreNotWrittenWhole(t *testing.T) {
	full := &fs.PathError{Op: "write", Path: "/dev/stdout", Err: syscall.ENOSPC}
	const text = "one\ntwo\nthree\n"
	for _, test := range []struct {
		name       string
		room       int
		err        error
		code, want int
		written    string
		says       string
	}{
		{"room for all", len(text), nil, exitNoGo, exitNoGo, text, ""},
		{"full from the start", 0, full, exitGo, exitWrong, "", "hilrig: what was asked for is not written whole: write /dev/stdout: no space left on device; make room, or send it elsewhere\n"},
		{"full before the last byte", len(text) - 1, full, exitNotShown, exitWrong, "one\ntwo\nthree", "not written whole"},
		{"full in the middle: nothing comes after", 5, full, exitNoGo, exitWrong, "one\nt", "not written whole"},
		{"a write cut short without a word", 5, nil, exitGo, exitWrong, "one\nt", "short write"},
		{"after a trip", 0, full, exitTripped, exitTripped, "", "not written whole"},
		{"nobody reads on", 5, &fs.PathError{Op: "write", Path: "/dev/stdout", Err: syscall.EPIPE}, exitNoGo, exitNoGo, "one\nt", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			room := &roomFor{left: test.room, err: test.err}
			r, out := resultsOn(room)
			for _, line := range []string{"one\n", "two\n", "three\n"} {
				fmt.Fprint(out, line)
			}
			var said bytes.Buffer
			assert.Equal(t, test.want, r.close(test.code, &said))
			assert.Equal(t, test.written, room.String())
			if test.says == "" {
				assert.Empty(t, said.String())
			} else {
				assert.Contains(t, said.String(), test.says)
			}
		})
	}
}

// Every command that prints results notices that they cannot be written, without a
// place of its own for that.
func TestEveryCommandNoticesAFullDisk(t *testing.T) {
	kept := recordOf(t, t.TempDir())
	for _, args := range [][]string{
		{"run", "split", "--only", "cap holds", "--record", "none"},
		{"run", "split", "--only", "cap holds", "--record", "none", "--json"},
		{"play"}, {"list"}, {"list", "--json"}, {"lint", "split"}, {"faults", "--list"}, {"new", t.TempDir() + "/mine"},
		{"wiring"}, {"wiring", "--plug"}, {"rate"}, {"rate", "--json"}, {"report", kept}, {"report", kept, "--vcd", "-"}, {"--version"}, {"--help"},
	} {
		t.Run(fmt.Sprint(args), func(t *testing.T) {
			var said bytes.Buffer
			code := run(t.Context(), args, &roomFor{left: 3, err: syscall.ENOSPC}, &said)
			assert.Equal(t, exitWrong, code, said.String())
			assert.Equal(t, 1, bytes.Count(said.Bytes(), []byte("hilrig: ")), said.String())
			assert.Contains(t, said.String(), "not written whole: no space left on device")
		})
	}
}

func TestGraver(t *testing.T) {
	order := []int{exitTripped, exitWrong, exitNoGo, exitNotShown, exitGo}
	for i, a := range order {
		for _, b := range order[i:] {
			assert.Equal(t, a, graver(a, b), "%d and %d", a, b)
			assert.Equal(t, a, graver(b, a), "%d and %d", b, a)
		}
	}
}

// What is behind a terminal is found through results, so that colour stays.
func TestResultsKeepTheDescriptor(t *testing.T) {
	_, out := resultsOn(struct {
		io.Writer
		descriptor
	}{errWriter{}, fixed7{}})
	f, ok := out.(descriptor)
	require.True(t, ok)
	assert.Equal(t, uintptr(7), f.Fd())
	_, err := out.Write([]byte("x"))
	assert.Error(t, err)
}

type fixed7 struct{}

func (fixed7) Fd() uintptr { return 7 }

type errWriter struct{}

func (errWriter) Write([]byte) (int, error) { return 0, errors.New("no") }
