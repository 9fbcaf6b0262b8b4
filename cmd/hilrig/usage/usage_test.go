package usage_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/cmd/hilrig/usage"
)

// shelf returns a command with another, for shelves.
func shelf() *cobra.Command {
	root := &cobra.Command{Use: "shelf", Short: "shelves", Example: "  shelf put book", SilenceErrors: true, SilenceUsage: true, RunE: func(*cobra.Command, []string) error { return nil }}
	put := &cobra.Command{
		Use: "put THING", Short: "put a thing", Example: "  shelf put book\n  shelf put cup", Args: usage.Arguments(1, 2),
		Annotations: map[string]string{usage.After: "Ends with\n  0  it stands\n"},
		RunE:        func(*cobra.Command, []string) error { return nil },
	}
	put.Flags().String("board", "", "onto this `BOARD`, counted from the floor, of which there are as many as the wall has room for")
	put.Flags().Uint64P("count", "n", 1, "`N` of them")
	put.Flags().Duration("for", 0, "take it away after `TIME`")
	put.Flags().Bool("dusty", false, "as it is")
	put.Flags().String("a-flag-with-a-long-name", "", "whatever that `MEANS`")
	put.MarkFlagsMutuallyExclusive("board", "for", "dusty")
	root.AddCommand(put)
	usage.Speak(root)
	usage.Completes(put, func(*cobra.Command, []string) []string { return []string{"book", "bowl", "cup"} }, false)
	usage.CompletesFlag(root, "board", func(*cobra.Command, []string) []string { return []string{"upper", "lower"} }, true)
	return root
}

// said runs the command with args and returns what it wrote, and its error in our words.
func said(args ...string) (string, error) {
	root := shelf()
	var out bytes.Buffer
	root.SetOut(&out)
	root.SetErr(&out)
	root.SetArgs(args)
	return out.String(), usage.Said(root.Execute())
}

// What the library says by itself, it says in its own words; none of these may be left.
func TestWrongUseIsToldInOurWords(t *testing.T) {
	for args, want := range map[string]string{
		"putt":                             `"putt" is not a command; use put`,
		"help putt":                        `"putt" is not a command; use put`,
		"away":                             `"away" is not a command; shelf --help lists them`,
		"help put x":                       `"put x" is not a command; shelf --help lists them`,
		"put --bord x":                     "shelf put has no flag --bord; use --board",
		"put --wall x":                     "shelf put has no flag --wall; shelf put --help lists them",
		"put -x":                           "shelf put has no flag -x; shelf put --help lists them",
		"put --board":                      "--board lacks its value; write --board BOARD",
		"put -n":                           "--count lacks its value; write --count N",
		"put --count -1":                   `--count is "-1"; it takes a whole number from 0 on`,
		"put --for soon":                   `--for is "soon"; it takes a time, as 90s or 10m`,
		"put --dusty=maybe":                `--dusty is "maybe"; it takes true or false, or leave the value out`,
		"put --=x":                         `"--=x" is no flag; write --NAME or --NAME VALUE, as shelf put --help shows`,
		"put a --board 1 --for 1s":         "--board and --for exclude each other; leave one out",
		"put a --board 1 --for 1s --dusty": "--board, --dusty and --for exclude each other; leave one out",
		"put":                              "put: 0 given, and 1 to 2 wanted; write it: shelf put THING",
		"completion":                       "completion: 0 given, and 1 wanted; write it: shelf completion SHELL",
		"completion bsh":                   `completion: shell "bsh" is not known; use bash or zsh`,
	} {
		_, err := said(strings.Fields(args)...)
		assert.EqualError(t, err, want, args)
	}
	for _, args := range []string{"put book", "put book cup --count 2 --for 10s", "help", "help put", "completion bash", "completion zsh", "completion fish", "completion powershell"} {
		_, err := said(strings.Fields(args)...)
		assert.NoError(t, err, args)
	}
	assert.EqualError(t, usage.Arguments(0, 0)(&cobra.Command{Use: "none"}, []string{"x"}), `none: "x" is not wanted; write it: none`)
}

const helpOfPut = `  shelf put book
  shelf put cup

put a thing

Write it: shelf put THING [--FLAG...]

  --a-flag-with-a-long-name MEANS
                          whatever that MEANS
  --board BOARD           onto this BOARD, counted from the floor, of which
                          there are as many as the wall has room for
  -n, --count N           N of them (default 1)
  --dusty                 as it is
  --for TIME              take it away after TIME
  -h, --help              say this

Ends with
  0  it stands
`

func TestHelp(t *testing.T) {
	for _, args := range []string{"put --help", "help put"} {
		root := shelf()
		var out bytes.Buffer
		root.SetOut(&out)
		root.SetArgs(strings.Fields(args))
		require.NoError(t, root.Execute())
		assert.Equal(t, helpOfPut, out.String(), args)
	}
	root := shelf()
	var out bytes.Buffer
	root.SetOut(&out)
	root.SetArgs([]string{"--help"})
	require.NoError(t, root.Execute())
	assert.Contains(t, out.String(), "Commands (shelf COMMAND --help says more):\n  completion  ")
	assert.Contains(t, out.String(), "\n  put         put a thing\n")
	assert.NotRegexp(t, "Usage|help for|Use \"", out.String(), "words of the library")
}

// As a shell asks: the last word is what is being typed.
func TestWordsAreCompleted(t *testing.T) {
	for args, want := range map[string]string{
		"put bo":        "book\nbowl\n:4\n",
		"put --board u": "upper\n:0\n",
		"help p":        "put\n:4\n",
		"completion f":  "fish\n:4\n",
	} {
		root := shelf()
		var out bytes.Buffer
		root.SetOut(&out)
		root.SetErr(new(bytes.Buffer))
		root.SetArgs(append([]string{"__completeNoDesc"}, strings.Fields(args)...))
		require.NoError(t, root.Execute())
		assert.Equal(t, want, out.String(), args)
	}
}
