package usage

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites/language"
)

// shells are those that can complete.
var shells = []string{"bash", "zsh", "fish", "powershell"}

// newCompletion returns the command that prints what has a shell complete.
func newCompletion() *cobra.Command {
	return &cobra.Command{
		Use:   "completion SHELL",
		Short: "print what has a shell complete commands, suites, cases, boards, faults and records",
		Long: `Prints a script for a SHELL, which is bash, zsh, fish or powershell. Once the shell has
read it, the tabulator key completes commands and flags, the names of suites, boards and
faults, the cases that --only names, and records.

  bash        eval "$(hilrig completion bash)" in ~/.bashrc
  zsh         hilrig completion zsh > "${fpath[1]}/_hilrig", with autoload -U compinit; compinit in ~/.zshrc
  fish        hilrig completion fish > ~/.config/fish/completions/hilrig.fish
  powershell  hilrig completion powershell | Out-String | Invoke-Expression in the profile`,
		Example: `  hilrig completion bash
  hilrig completion fish`,
		ValidArgs: shells,
		Args:      Arguments(1, 1),
		RunE: func(c *cobra.Command, args []string) error {
			root, out := c.Root(), c.OutOrStdout()
			switch args[0] {
			case "bash":
				return writeBash(root, out)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return fmt.Errorf("completion: shell %q is not known; %s", args[0], language.Instead(args[0], shells))
		},
	}
}

// Words lists what can be completed, of a command whose flags and arguments were typed so far.
type Words func(c *cobra.Command, args []string) []string

// Completes has the arguments of a command completed by words, beside files and folders where more is true.
func Completes(c *cobra.Command, words Words, more bool) {
	c.ValidArgsFunction = completed(words, more)
}

// CompletesFlag has the value of a flag completed by words, on each command below root that has it.
func CompletesFlag(root *cobra.Command, flag string, words Words, more bool) {
	for _, c := range root.Commands() {
		if c.Flags().Lookup(flag) != nil {
			_ = c.RegisterFlagCompletionFunc(flag, completed(words, more)) // it has the flag, and was not told before
		}
	}
}

// completed returns what gives a shell those words that begin as what is typed. Where the shell breaks words at colons, as bash
// does, its script takes that into account.
func completed(words Words, more bool) cobra.CompletionFunc {
	return func(c *cobra.Command, args []string, typed string) (found []cobra.Completion, _ cobra.ShellCompDirective) {
		for _, w := range words(c, args) {
			if strings.HasPrefix(w, typed) {
				found = append(found, w)
			}
		}
		if more {
			return found, cobra.ShellCompDirectiveDefault
		}
		return found, cobra.ShellCompDirectiveNoFileComp
	}
}
