// Package usage is what commands say of themselves and of what was typed wrongly, in words of our own; and what a shell
// is told to complete.
//
// [Speak] has a command and all below it speak so: help with the examples first, flags in a table, and errors that name what
// was typed, what is wrong with it and the remedy, the nearest word where there is one.
package usage

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"hilrig/suites/language"
	"hilrig/suites/report"
	"hilrig/suites/terminal"
)

// After is the annotation of a command whose text stands at the end of its help.
const After = "after"

// Speak has root and all its commands speak in these words, and gives it the commands help and completion.
func Speak(root *cobra.Command) {
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { Help(c.OutOrStdout(), c) })
	root.SetUsageFunc(func(c *cobra.Command) error { Help(c.ErrOrStderr(), c); return nil })
	root.SetFlagErrorFunc(flagError)
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetHelpCommand(newHelp())
	root.AddCommand(newCompletion())
	if root.Args == nil {
		root.Args = func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return noCommand(c, args[0])
			}
			return nil
		}
	}
	ownHelpFlag(root)
}

// ownHelpFlag declares --help of a command and of those below it.
func ownHelpFlag(c *cobra.Command) {
	c.Flags().BoolP("help", "h", false, "say this")
	for _, below := range c.Commands() {
		ownHelpFlag(below)
	}
}

// newHelp returns the command that says what a command does.
func newHelp() *cobra.Command {
	c := &cobra.Command{
		Use:   "help [COMMAND]",
		Short: "say what a command does, its flags, exit codes and environment",
		Long:  "Says what COMMAND does; without one which commands there are. The same as COMMAND --help.",
		Example: `  hilrig help run
  hilrig help`,
		ValidArgsFunction: completed(func(c *cobra.Command, args []string) []string {
			if len(args) > 0 {
				return nil
			}
			return commandNames(c.Root())
		}, false),
		RunE: func(c *cobra.Command, args []string) error {
			of, rest, err := c.Root().Find(args)
			if err != nil || len(rest) > 0 {
				return noCommand(c.Root(), strings.Join(args, " "))
			}
			Help(c.OutOrStdout(), of)
			return nil
		},
	}
	ownHelpFlag(c)
	return c
}

// noCommand says that a word is no command of c, and which is near.
func noCommand(c *cobra.Command, word string) error {
	if near := language.Nearest(word, commandNames(c)); near != "" {
		return fmt.Errorf("%q is not a command; use %s", word, near)
	}
	return fmt.Errorf("%q is not a command; %s --help lists them", word, c.CommandPath())
}

// commandNames lists the commands below c.
func commandNames(c *cobra.Command) (names []string) {
	for _, below := range c.Commands() {
		if below.IsAvailableCommand() || below.Name() == "help" {
			names = append(names, below.Name())
		}
	}
	return names
}

// Arguments has a command take so many words beside its flags.
func Arguments(least, most int) cobra.PositionalArgs {
	wanted := map[bool]string{true: fmt.Sprint(most), false: fmt.Sprintf("%d to %d", least, most)}[least == most]
	return func(c *cobra.Command, args []string) error {
		switch n := len(args); {
		case n >= least && n <= most:
			return nil
		case most == 0:
			return fmt.Errorf("%s: %q is not wanted; write it: %s", c.Name(), args[0], line(c))
		default:
			return fmt.Errorf("%s: %d given, and %s wanted; write it: %s", c.Name(), n, wanted, line(c))
		}
	}
}

// line says how a command is written.
func line(c *cobra.Command) string {
	if !c.HasParent() {
		return c.Use
	}
	return line(c.Parent()) + " " + c.Use
}

// widest is how many letters the names of flags have at most before what they do stands on the next line.
const widest = 22

// Help writes what a command does, its examples first: most who ask for help want one to change.
func Help(out io.Writer, c *cobra.Command) {
	s := terminal.On(out)
	fmt.Fprintf(s, "%s\n\n%s\n\n", c.Example, cmp.Or(c.Long, c.Short))
	if c.HasAvailableSubCommands() {
		fmt.Fprintf(s, "Commands (%s COMMAND --help says more):\n", c.CommandPath())
		var rows report.Table
		for _, below := range c.Commands() {
			if below.IsAvailableCommand() || below.Name() == "help" {
				rows = append(rows, []string{below.Name(), below.Short})
			}
		}
		rows.Print(s, "  ")
		fmt.Fprintln(s)
	} else {
		fmt.Fprintf(s, "Write it: %s [--FLAG...]\n\n", line(c))
	}
	wide := cmp.Or(s.Width, 79)
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			fmt.Fprint(s, described(f, wide))
		}
	})
	if after := c.Annotations[After]; after != "" {
		fmt.Fprintf(s, "\n%s", after)
	}
}

// described returns the lines of a flag.
func described(f *pflag.Flag, wide int) string {
	value, text := pflag.UnquoteUsage(f)
	name := "  --" + f.Name
	if f.Shorthand != "" {
		name = "  -" + f.Shorthand + ", --" + f.Name
	}
	if value != "" {
		name += " " + value
	}
	if !slices.Contains([]string{"", "0", "false", "0s"}, f.DefValue) {
		text += " (default " + f.DefValue + ")"
	}
	indent := strings.Repeat(" ", 2+widest+2)
	lines := report.Wrapped(text, max(20, wide-len(indent)))
	first := report.Pad(name, len(indent))
	if len(name) > 2+widest {
		first = name + "\n" + indent
	}
	return first + strings.Join(lines, "\n"+indent) + "\n"
}
