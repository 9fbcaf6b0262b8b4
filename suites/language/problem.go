package language

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Problem is one thing that is wrong with a file.
type Problem struct {
	Place
	Value   string // the offending value as written; empty where something is missing
	Message string // what is wrong, the value named
	Remedy  string // what to write instead; may be empty
	Excerpt string // the line with a caret under the place; may be empty
	Level   Level
	More    int // how many further problems it stands for, which are not listed
}

// Level says how bad a problem is.
type Level uint8

// The levels.
const (
	Mistake Level = iota // the file cannot be used
	Warning              // odd, but it can be played
)

// Error returns the problem on one line, "splits.yaml:14:9: message; remedy".
func (p Problem) Error() string {
	s := fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Column, p.Message)
	if p.Remedy != "" {
		s += "; " + p.Remedy
	}
	return s
}

// Problems is all that is wrong with a file, sorted by place. It is an error;
// an empty one is never returned as such.
type Problems []Problem

// shown is how many problems Error prints in full.
const shown = 50

// few is how many of the same are told one by one.
const few = 5

// Error returns every problem with its excerpt, and of more than 50 how many
// more there are. What is said of more than 5 places of a file in the same words is told once, with the lines of the others.
func (p Problems) Error() string {
	type words struct{ file, message, remedy string }
	lines := map[words][]int{}
	for _, q := range p {
		w := words{q.File, q.Message, q.Remedy}
		lines[w] = append(lines[w], q.Line)
	}
	var told []string
	left := 0
	for _, q := range p {
		w := words{q.File, q.Message, q.Remedy}
		same := lines[w]
		if len(same) > few && same[0] == 0 {
			continue // it was told
		}
		if len(told) == shown {
			left++
			continue
		}
		text := q.Error()
		if q.Excerpt != "" {
			text += "\n" + q.Excerpt
		}
		if len(same) > few {
			text += "\n" + alike(same[1:])
			same[0] = 0
		}
		told = append(told, text)
	}
	if left > 0 {
		told = append(told, fmt.Sprintf("and %d more", left))
	}
	return strings.Join(told, "\n")
}

// alike says on which lines the same is wrong once more.
func alike(lines []int) string {
	const most = 10
	var text strings.Builder
	text.WriteString(fmt.Sprintf("the same %d times more, on lines ", len(lines)))
	for i, line := range lines[:min(len(lines), most)] {
		if i > 0 {
			text.WriteString(", ")
		}
		text.WriteString(strconv.Itoa(line))
	}
	if len(lines) > most {
		text.WriteString(" and further")
	}
	return text.String()
}

// Sorted returns the problems by place, or nil where there is none, so that it
// can be returned as an error.
func (p Problems) Sorted() error {
	if len(p) == 0 {
		return nil
	}
	p.Sort()
	return p
}

// Count returns how many problems there are, with those that are not listed.
func (p Problems) Count() (n int) {
	for i := range p {
		n += 1 + p[i].More
	}
	return n
}

// Sort sorts by place within the file.
func (p Problems) Sort() {
	slices.SortStableFunc(p, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// Warnings is what is odd about files that can be played all the same, sorted
// by file and place. All have the level [Warning].
type Warnings []Problem

// String returns every warning with its excerpt.
func (w Warnings) String() string { return Problems(w).Error() }
