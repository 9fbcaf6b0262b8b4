package main

import (
	"fmt"
	"slices"
	"strings"
)

// table is text in columns, row by row. Rows may end early.
type table [][]string

// print writes the rows behind an indent, the columns two blanks apart and each as wide as its
// widest cell; one that is empty in all rows is left out. The columns in right, counted from 0,
// are aligned at their right edge.
func (t table) print(s *screen, indent string, right ...int) {
	for _, row := range t {
		var cells []string
		for i, cell := range row {
			width := t.width(i)
			switch {
			case width == 0:
			case slices.Contains(right, i):
				cells = append(cells, padLeft(cell, width))
			default:
				cells = append(cells, pad(cell, width))
			}
		}
		fmt.Fprintln(s, strings.TrimRight(indent+strings.Join(cells, "  "), " "))
	}
}

// width returns how wide a column is.
func (t table) width(column int) int {
	width := 0
	for _, row := range t {
		if column < len(row) {
			width = max(width, letters(row[column]))
		}
	}
	return width
}
