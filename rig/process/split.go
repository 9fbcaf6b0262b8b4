package process

import (
	"errors"
	"strings"
)

// Split splits a command into words as a shell does, and expands nothing: blanks part words; single quotes
// keep everything, double quotes all but \" \\ \$ \` and a backslash before the end of a line,
// and a backslash outside keeps the next letter. A quote that is not closed, a backslash at the end and a command without a word are
// errors.
//
// Source: POSIX.1-2017, Shell Command Language, 2.2 Quoting, from memory.
func Split(command string) (words []string, err error) {
	var word strings.Builder
	in := false // a word, empty or not
	for i := 0; i < len(command); i++ {
		c := command[i]
		switch c {
		case ' ', '\t', '\n':
			if in {
				words = append(words, word.String())
				word.Reset()
				in = false
			}
			continue
		case '\'':
			end := strings.IndexByte(command[i+1:], '\'')
			if end < 0 {
				return nil, errors.New("a single quote is not closed; close it, or write \\' for the letter")
			}
			word.WriteString(command[i+1 : i+1+end])
			i += end + 1
		case '"':
			n, err := quoted(command[i+1:], &word)
			if err != nil {
				return nil, err
			}
			i += n
		case '\\':
			if i+1 == len(command) {
				return nil, errors.New("a backslash ends the command; write \\\\ for the letter")
			}
			i++
			if command[i] == '\n' {
				continue
			}
			word.WriteByte(command[i])
		default:
			word.WriteByte(c)
		}
		in = true
	}
	if in {
		words = append(words, word.String())
	}
	if len(words) == 0 {
		return nil, errors.New("there is no word in it; write the program and its arguments")
	}
	return words, nil
}

// quoted takes what stands behind an opening double quote, and returns how much of the text
// that was, the closing one included.
func quoted(text string, word *strings.Builder) (n int, err error) {
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"':
			return i + 1, nil
		case c == '\\' && i+1 < len(text) && strings.IndexByte("\"\\$`\n", text[i+1]) >= 0:
			i++
			if text[i] != '\n' {
				word.WriteByte(text[i])
			}
		default:
			word.WriteByte(c)
		}
	}
	return 0, errors.New("a double quote is not closed; close it, or write \\\" for the letter")
}
