package process_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/process"
)

// The examples are those of POSIX.1-2017, Shell Command Language, 2.2, and what sh does with them.
func TestSplitAsAShellDoes(t *testing.T) {
	for _, test := range []struct {
		command string
		words   []string
	}{
		{"./board", []string{"./board"}},
		{"  ./board  --seed\t7 \n", []string{"./board", "--seed", "7"}},
		{`'a b' "c d" e\ f`, []string{"a b", "c d", "e f"}},
		{`a'b c'"d e"f`, []string{"ab cd ef"}},
		{`'' ""`, []string{"", ""}},
		{`'\n"$x'`, []string{`\n"$x`}},
		{`"\"\\\$\` + "`" + `\n'"`, []string{`"\$` + "`" + `\n'`}},
		{"a\\\nb \"c\\\nd\"", []string{"ab", "cd"}},
		{"$HOME *.c ~", []string{"$HOME", "*.c", "~"}},
	} {
		words, err := process.Split(test.command)
		assert.NoError(t, err, test.command)
		assert.Equal(t, test.words, words, test.command)
	}
	for _, test := range []struct{ command, says string }{
		{"", "there is no word in it"},
		{" \t", "there is no word in it"},
		{"a 'b", "a single quote is not closed"},
		{`a "b`, "a double quote is not closed"},
		{`a "b\"`, "a double quote is not closed"},
		{`a \`, "a backslash ends the command"},
	} {
		_, err := process.Split(test.command)
		assert.ErrorContains(t, err, test.says, test.command)
	}
}
