package language

import "strings"

// Nearest returns the word that got is most likely a slip of, "" where none is near: up to a third of its
// letters, and three, may differ.
func Nearest(got string, words []string) string {
	if near := nearest(got, words); len(near) > 0 {
		return near[0]
	}
	return ""
}

// nearest returns the words that are as near to got as any, which are none where none is near.
func nearest(got string, words []string) (near []string) {
	least := min(max(len(got)/3, 1), 3)
	for _, w := range words {
		switch d := distance(strings.ToLower(got), w, least+1); {
		case d < least || d == least && near == nil:
			near, least = []string{w}, d
		case d == least:
			near = append(near, w)
		}
	}
	return near
}

// Instead says which word to use in place of got: the nearest, those that
// contain it, or else all of them.
func Instead(got string, words []string) string {
	if near := nearest(got, words); len(near) > 0 {
		return "use " + Or(near)
	}
	var parts []string
	for _, w := range words {
		if len(got) >= 3 && strings.Contains(w, got) {
			parts = append(parts, w)
		}
	}
	if len(parts) > 0 {
		words = parts
	}
	if len(words) == 0 {
		return ""
	}
	return "use " + Or(words)
}

// Or joins words as "a, b or c".
func Or(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// distance is the number of letters to change, insert, leave out or swap with
// their neighbour to make b of a (optimal string alignment); enough or more is
// returned as enough.
func distance(a, b string, enough int) int {
	x, y := []rune(a), []rune(b)
	if d := len(x) - len(y); d >= enough || -d >= enough {
		return enough
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return min(last[len(y)], enough)
}
