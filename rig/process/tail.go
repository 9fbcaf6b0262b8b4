package process

import (
	"io"
	"strings"
	"sync"
)

// tail passes on what is written to it and remembers the end. It is safe for concurrent use.
type tail struct {
	to io.Writer // nil: nobody

	mu  sync.Mutex
	end []byte
}

// mostTail is how many bytes are remembered.
const mostTail = 1 << 12

// Write takes everything. That it could not be passed on is no fault of the board's.
func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.to != nil {
		_, _ = t.to.Write(p)
	}
	t.end = append(t.end, p...)
	if over := len(t.end) - mostTail; over > 0 {
		t.end = append(t.end[:0], t.end[over:]...)
	}
	return len(p), nil
}

// last returns the last lines in one, at most three.
func (t *tail) last() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	lines := strings.FieldsFunc(string(t.end), func(r rune) bool { return r == '\n' || r == '\r' })
	return strings.ToValidUTF8(strings.Join(lines[max(0, len(lines)-3):], " | "), "?")
}
