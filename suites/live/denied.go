package live

import (
	"fmt"
	"io"
	"slices"
	"sync"

	"hilrig/rig"
)

// denials are what the operating system did not grant to benches in real time and to what plays on them. A program that
// was copied anew has lost what was granted to the one before, and plays all the same, late.
type denials struct {
	out  io.Writer // where each is said once; nil: nowhere
	mu   sync.Mutex
	each []string
}

// add notes what was denied, and says what is new of it.
func (d *denials) add(denied ...string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, x := range denied {
		if slices.Contains(d.each, x) {
			continue
		}
		d.each = append(d.each, x)
		if d.out != nil {
			fmt.Fprintf(d.out, "hilrig: warning: not granted: %s\n", x)
		}
	}
}

// of notes what a bench that was opened was denied, where it says so.
func (d *denials) of(b rig.Bench) {
	if x, ok := b.(interface{ Denied() []string }); ok {
		d.add(x.Denied()...)
	}
}

// all returns everything that was denied so far.
func (d *denials) all() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.each)
}
