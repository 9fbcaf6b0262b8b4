package terminal

import (
	"bytes"
	"strings"

	"hilrig/suites/report"
)

// hang is how many letters further in a line goes on than it began.
const hang = 4

// line is the line that is being written.
type line struct {
	letters int  // so far
	indent  int  // blanks that it begins with
	gap     int  // blanks that wait for a word
	typed   bool // a command to copy stands in it, which a break would cut
	stop    bool // the last word ended in a colon
}

// Write writes p. Where a line would be longer than the screen is wide, it goes on in a further line, broken at a blank. A
// command that stands by itself or behind a colon is not broken, for whoever copies it would have half of it.
func (s *Screen) Write(p []byte) (int, error) {
	if s.Width <= 0 {
		return s.Writer.Write(p)
	}
	if _, err := s.Writer.Write(s.fitted(string(p))); err != nil {
		return 0, err
	}
	return len(p), nil
}

// fitted returns text with the breaks that it needs behind what was written before.
func (s *Screen) fitted(text string) []byte {
	var out bytes.Buffer
	blanks := func(n int) {
		out.WriteString(strings.Repeat(" ", n))
		s.line.letters += n
	}
	for text != "" {
		switch end := strings.IndexAny(text, " \n"); {
		case text[0] == '\n':
			out.WriteByte('\n')
			s.line, text = line{}, text[1:]
		case text[0] == ' ':
			n := len(text) - len(strings.TrimLeft(text, " "))
			s.line.gap, text = s.line.gap+n, text[n:]
		default:
			word := text
			if end >= 0 {
				word = text[:end]
			}
			text = text[len(word):]
			l, n := &s.line, report.Letters(word)
			first := l.letters == 0
			l.typed = l.typed || word == "hilrig" && (first || l.stop)
			l.stop = word[len(word)-1] == ':'
			if first {
				l.indent = l.gap
			} else if l.gap > 0 && !l.typed && l.letters+l.gap+n > s.Width {
				out.WriteByte('\n')
				l.letters, l.gap = 0, min(l.indent+hang, s.Width/2)
			}
			blanks(l.gap)
			l.gap = 0
			out.WriteString(word)
			l.letters += n
		}
	}
	return out.Bytes()
}
