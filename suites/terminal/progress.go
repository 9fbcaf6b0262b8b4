package terminal

import (
	"fmt"
	"io"
	"sync"
	"time"
)

// How often it is said how far work has come.
const (
	refresh = 100 * time.Millisecond // at most, on a terminal, where a line is rewritten
	every   = 10 * time.Second       // elsewhere, where lines stay
	patient = 30 * time.Second       // elsewhere only of what takes longer than that
)

// Progress says how far work has come: on a terminal in one line that is rewritten, elsewhere in a line every ten seconds
// of what takes more than thirty.
type Progress struct {
	w        io.Writer // nil: nobody is told
	terminal bool
	began    time.Time

	mu    sync.Mutex // of what follows
	last  time.Time
	text  string
	timer *time.Timer // elsewhere: for the next line
}

// ProgressOn returns what says on w how far work has come, to nobody where it is to be quiet. Wipe ends it.
func ProgressOn(w io.Writer, quiet bool) *Progress {
	if quiet {
		w = nil
	}
	p := &Progress{w: w, began: time.Now(), terminal: w != nil && Is(w)}
	if w != nil && !p.terminal {
		p.timer = time.AfterFunc(patient, p.say)
	}
	return p
}

// Show says how far work has come, unless that was said a moment ago.
func (p *Progress) Show(text string) {
	if p.w == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.text = text
	if now := time.Now(); p.terminal && now.Sub(p.last) >= refresh {
		p.last = now
		columns, _ := size(p.w)
		fmt.Fprint(p.w, "\r\x1b[K", OneLine(text, columns))
	}
}

// Since returns for how long, in s, the work goes on.
func (p *Progress) Since() float64 { return time.Since(p.began).Seconds() }

// say says it where lines stay, and again in ten seconds.
func (p *Progress) say() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.timer == nil {
		return
	}
	fmt.Fprintf(p.w, "%.0f s  %s\n", p.Since(), p.text)
	p.timer.Reset(every)
}

// Wipe ends it, and clears the line. It may be called again.
func (p *Progress) Wipe() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.timer != nil {
		p.timer.Stop()
		p.timer = nil
	}
	if p.terminal {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}

// OneLine cuts text to width letters, so that it stays one line.
func OneLine(text string, width int) string {
	letters := []rune(text)
	return string(letters[:min(len(letters), width)])
}
