package language

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"unicode"
)

// widest is how many characters of a line an excerpt shows.
const widest = 120

// Excerpt returns the lines first to last of the file, counted from 1, each
// with its number. Lines that the file does not have are left out.
func (s Source) Excerpt(first, last int) string {
	lines := s.Lines()
	first, last = max(first, 1), min(last, len(lines))
	var shown []string
	for n := first; n <= last; n++ {
		shown = append(shown, ExcerptLine(lines[n-1], n, len(fmt.Sprint(last)), 0))
	}
	return strings.Join(shown, "\n")
}

// Shown returns a problem of the file with the line at its place, and a caret under it.
func (s Source) Shown(p Problem) Problem {
	p.Excerpt = ExcerptAt(s.Lines(), p.Line, p.Column)
	return p
}

// Digest returns the sha256 of the file's bytes in hex.
func (s Source) Digest() string {
	sum := sha256.Sum256(s.Data)
	return hex.EncodeToString(sum[:])
}

// Text returns the file's bytes with plain line feeds and without the byte order
// mark that some editors put before them.
func (s Source) Text() []byte {
	return bytes.ReplaceAll(bytes.TrimPrefix(s.Data, []byte("\ufeff")), []byte("\r\n"), []byte("\n"))
}

// Head returns the file cut to the bytes that a file written by hand may have.
func (s Source) Head() Source {
	s.Data = s.Data[:min(len(s.Data), MostBytes)]
	return s
}

// Lines splits the file at its line ends.
func (s Source) Lines() []string {
	return strings.Split(strings.TrimSuffix(string(s.Text()), "\n"), "\n")
}

// ExcerptAt returns one of a file's lines with its number and a caret under column.
func ExcerptAt(lines []string, line, column int) string {
	if line < 1 || line > len(lines) {
		return ""
	}
	return ExcerptLine(lines[line-1], line, len(fmt.Sprint(line)), column)
}

// ExcerptLine shows line n of a file with its number, digits wide, and a caret
// under column where that is above 0.
func ExcerptLine(text string, n, digits, column int) string {
	from := 0
	if column > widest {
		from = column - widest/2
	}
	shown := strings.TrimRight(fmt.Sprintf("%*d | %s", digits+2, n, visible(text, from)), " ")
	if column > 0 {
		shown += fmt.Sprintf("\n%*s | %s^", digits+2, "", strings.Repeat(" ", max(column-1-from, 0)))
	}
	return shown
}

// visible returns at most widest characters of line from the one at from on,
// with a blank for each that does not print.
func visible(line string, from int) string {
	var b strings.Builder
	n := 0
	for _, r := range line {
		if n >= from {
			if !unicode.IsPrint(r) {
				r = ' '
			}
			b.WriteRune(r)
		}
		if n++; n == from+widest {
			b.WriteString("...")
			break
		}
	}
	return b.String()
}
