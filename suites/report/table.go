package report

import (
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// Table is text in columns, row by row. Rows may end early.
type Table [][]string

// Print writes the rows behind an indent, the columns two blanks apart and each as wide as its
// widest cell; one that is empty in all rows is left out. The columns in right, counted from 0,
// are aligned at their right edge.
func (t Table) Print(w io.Writer, indent string, right ...int) {
	for _, row := range t {
		var cells []string
		for i, cell := range row {
			width := t.width(i)
			switch {
			case width == 0:
			case slices.Contains(right, i):
				cells = append(cells, strings.Repeat(" ", max(0, width-Letters(cell)))+cell)
			default:
				cells = append(cells, Pad(cell, width))
			}
		}
		fmt.Fprintln(w, strings.TrimRight(indent+strings.Join(cells, "  "), " "))
	}
}

// width returns how wide a column is.
func (t Table) width(column int) int {
	width := 0
	for _, row := range t {
		if column < len(row) {
			width = max(width, Letters(row[column]))
		}
	}
	return width
}

// Pad fills text with blanks to width letters.
func Pad(text string, width int) string {
	return text + strings.Repeat(" ", max(0, width-Letters(text)))
}

// tint is what colours letters on a terminal, or ends that (ECMA-48, select graphic rendition).
var tint = regexp.MustCompile("\x1b\\[[0-9]*m")

// Letters returns how many letters of a text are seen. A tint takes up no room.
func Letters(text string) int { return utf8.RuneCountInString(tint.ReplaceAllString(text, "")) }

// Wrapped breaks a sentence into lines of at most width letters, at blanks.
func Wrapped(text string, width int) []string {
	var lines []string
	for word := range strings.FieldsSeq(text) {
		if last := len(lines) - 1; last >= 0 && len(lines[last])+1+len(word) <= width {
			lines[last] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}
