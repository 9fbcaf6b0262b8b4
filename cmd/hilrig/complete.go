package main

import (
	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites"
	"hilrig/suites/campaign"
	"hilrig/suites/esc"
	"hilrig/suites/record"
	"hilrig/suites/setup"
	"hilrig/suites/standard"
)

// complete says what a shell completes: the arguments of commands, and the values of flags wherever they stand.
func complete(root *cobra.Command) {
	standardSuites := func(*cobra.Command, []string) []string { return append(standard.Names(), setup.Here()...) }
	arguments := map[string]usage.Words{
		"run": standardSuites, "list": standardSuites, "faults": standardSuites, "ready": standardSuites, "lint": standardSuites,
		"report": recordNames, "compare": recordNames,
		"play": func(*cobra.Command, []string) []string { return suites.HoldWords() },
	}
	for _, c := range root.Commands() {
		if words := arguments[c.Name()]; words != nil {
			usage.Completes(c, words, c.Name() != "play")
		}
	}
	these := func(words ...string) usage.Words { return func(*cobra.Command, []string) []string { return words } }
	for flag, words := range map[string]usage.Words{
		"board": boardNames, "only": caseNames, "esc": these(esc.Controllers()...), "attended": these("yes", "no"),
		"against": func(c *cobra.Command, args []string) []string {
			return append([]string{"last"}, recordNames(c, args)...)
		},
	} {
		usage.CompletesFlag(root, flag, words, flag == "against")
	}
	usage.CompletesFlag(root, "bank", these(inMemory), true)
	usage.CompletesFlag(root, "record", these(noRecord), true)
}

// boardNames lists the boards that a command takes.
func boardNames(c *cobra.Command, _ []string) []string {
	if c.Name() == "faults" {
		return campaign.Boards()
	}
	return suites.Boards()
}

// recordNames lists the records of the user by folder and label; none where they cannot be read.
func recordNames(*cobra.Command, []string) []string {
	home, err := record.Home()
	if err != nil {
		return nil
	}
	entries, _ := record.Entries(home)
	return record.Names(entries)
}

// caseNames lists the cases that --only can name: of report those of the record, of others those of the suites that are named.
func caseNames(c *cobra.Command, args []string) []string {
	if c.Name() == "report" {
		folder, err := recordNamed(args)
		if err != nil {
			return nil
		}
		r, err := record.Read(folder)
		if err != nil {
			return nil
		}
		return r.Result.CaseNames()
	}
	named := func(flag string) string { return c.Flags().Lookup(flag).Value.String() }
	if len(args) == 0 {
		args = standard.Names()
	}
	f := inputFlags{car: named("car"), bench: named("bench"), board: named("board"), seed: 1}
	setup, err := f.load(c, args)
	if err != nil {
		return nil
	}
	return setup.Plan().CaseNames()
}
