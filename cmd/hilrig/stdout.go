package main

import (
	"errors"
	"fmt"
	"io"
	"syscall"
)

// descriptor is what an open file has.
type descriptor interface{ Fd() uintptr }

// results is where what was asked for goes: standard output, with a memory of what went
// wrong. Each write goes on at once. Once one failed nothing more is written, so that what
// there is has no gap. Writes must not overlap.
//
// That nobody reads on, as in "hilrig run | head -1", is the wish of who started it and no
// error: the rest is dropped, and the command ends as it would have.
type results struct {
	out    io.Writer
	err    error // the first; nil: all was written
	unread bool  // nobody reads any more
}

// Write writes p, or returns the error of the first write that failed.
func (r *results) Write(p []byte) (int, error) {
	if r.unread {
		return len(p), nil
	}
	if r.err != nil {
		return 0, r.err
	}
	n, err := r.out.Write(p)
	switch {
	case errors.Is(err, syscall.EPIPE):
		r.unread = true
		return len(p), nil
	case err == nil && n < len(p):
		err = io.ErrShortWrite
	}
	r.err = err
	return n, err
}

// terminalResults is results on an open file, which may be a terminal.
type terminalResults struct {
	*results
	descriptor
}

// resultsOn returns what writes to stdout, and the writer that commands are given.
func resultsOn(stdout io.Writer) (*results, io.Writer) {
	r := &results{out: stdout}
	if f, ok := stdout.(descriptor); ok {
		return r, terminalResults{r, f}
	}
	return r, r
}

// close returns the exit code of a command that came to code, 3 at least where its results could
// not be written whole, which it then says on stderr.
func (r *results) close(code int, stderr io.Writer) int {
	if r.err == nil {
		return code
	}
	fmt.Fprintf(stderr, "hilrig: what was asked for is not written whole: %v; make room, or send it elsewhere\n", r.err)
	return graver(code, exitWrong)
}
