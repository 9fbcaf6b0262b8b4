package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/campaign"
	"hilrig/suites/language"
	"hilrig/suites/parts"
	"hilrig/suites/report/faults"
	"hilrig/suites/setup"
	"hilrig/suites/standard"
	"hilrig/suites/terminal"
)

// faultsFlags are the flags of faults.
type faultsFlags struct {
	inputFlags
	list, null, json bool
	table, file      string
	shard            string
	join             bool
}

// newFaults returns the command that holds suites against boards that are
// wrong.
func newFaults() *cobra.Command {
	var f faultsFlags
	c := &cobra.Command{
		Use:   "faults [SUITE...]",
		Short: "hold suites against every seeded fault: which check finds which",
		Long: `Plays the suites to each built-in board once for each fault that can be seeded
into it, case by case until one finds it, and shows which check did. A suite
that cannot find a fault proves little. What a check finds on the board without
a fault does not count. Those suites and cases come first that ask for the policy
key which makes it a fault, the shortest before the others. With a fault that is
called harmless the board is right: nothing may fail.

Each board is played to with its own demo car and bench. --board plays to one of
them alone; --car, --bench and a suite of your own are for one car, and play to
built-in where no board is named.

With --board-command a program of your own is the board, and --faults-file names the
faults that it can have: each name in turn stands for {fault} in the command, and
without a fault the word that the file says, or nothing. A program that fails by
itself finds nothing. rig/board/README.md shows the file.

With --null it plays them to boards that control nothing: each suite has to
fail on each of them. The suite timing may pass, since it asks when a board
answers and not what.

With --table it plays standard suites to the end with each fault, and writes which
checks fail and which stay open with it: one JSON text a line, sorted. What a line
leaves out, cases or variants, is all of them. Where suites are named, the file
keeps what it has of the others.

With --shard 2/8 --json one of eight machines plays its part of the faults; it ends 0 where
it came to its end. --join FILE... puts what all of them wrote together to the result and exit
code of one machine.

Ctrl-C ends it with what was found so far, in the JSON too, where a fault that was not
played to its end is "not run"; a table that is not whole is not written. Ctrl-C once more
ends it at once.

Without a SUITE all standard suites are played, and soak to the faults that show only
after minutes. Ends NO-GO (1) where a fault is
not found or a null board passes, NOT SHOWN (2) where that was not decided, as where
your program fails with a fault or where it was interrupted.`,
		Example: `  hilrig faults
  hilrig faults --null mysuite.yaml
  hilrig faults --board-command './firmware {seed} {fault}' --faults-file myfaults.yaml --car mycar.yaml --bench mybench.yaml`,
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.addFiles(c)
	f.addSeed(c)
	flags := c.Flags()
	flags.StringVar(&f.board, "board", "", "the `BOARD` whose faults are seeded: built-in or built-in/moment (default: both)")
	flags.BoolVar(&f.list, "list", false, "list the faults and play nothing")
	flags.BoolVar(&f.null, "null", false, "play to the boards that control nothing")
	flags.StringVar(&f.table, "table", "", "write what fails with each fault of both boards to `FILE`; - is standard output")
	f.command.add(c)
	flags.StringVar(&f.file, "faults-file", "", "the `FILE` that names the faults of the program of --board-command")
	for _, alone := range []string{"board", "list", "null", "table"} {
		c.MarkFlagsMutuallyExclusive(alone, boardCommandFlag)
		c.MarkFlagsMutuallyExclusive(alone, "faults-file")
	}
	addQuiet(c)
	flags.BoolVar(&f.json, "json", false, "print what was found as JSON and nothing else")
	flags.StringVar(&f.shard, "shard", "", "play `PART` of the faults, 2/8 for the second of eight, and leave the rest to other machines")
	flags.BoolVar(&f.join, "join", false, "play nothing: take the parts in the files that are named as one")
	for _, alone := range []string{"list", "null", "table", "join"} {
		c.MarkFlagsMutuallyExclusive("shard", alone)
		if alone != "join" {
			c.MarkFlagsMutuallyExclusive("join", alone)
		}
	}
	return c
}

// run does what the flags say.
func (f *faultsFlags) run(c *cobra.Command, args []string) error {
	out := screenOn(c.OutOrStdout())
	switch {
	case f.board != "" && !slices.Contains(campaign.Boards(), f.board):
		return fmt.Errorf("faults: board %q has no seeded faults; use %s", f.board, strings.Join(campaign.Boards(), " or "))
	case f.list && (f.null || f.json || f.table != "" || len(args) > 0):
		return errors.New("faults: --list stands alone, or with --board; leave out the rest")
	case f.list:
		listFaults(out, f.boards(nil))
		return nil
	case f.table != "" && (f.null || f.json || f.board != "" || f.car != "" || f.bench != "" || slices.ContainsFunc(args, setup.IsOwn)):
		return errors.New("faults: --table plays standard suites to both built-in boards with their own cars; leave out the rest")
	case f.table != "":
		return f.writeTable(c, args)
	}
	if f.shard != "" && !f.json {
		return errors.New("faults: a part is joined from its JSON; add --json and keep what is printed in a file")
	}
	if f.join {
		if err := onlyParts(c); err != nil {
			return err
		}
		whole, err := campaign.JoinFaults(args, inputsOf(c.Context()).ReadLog)
		if err == nil {
			err = f.show(c, shownFaults{result: whole, outcome: whole.Outcome, print: func(s *screen) { printFaults(s, whole) }}, "")
		}
		return err
	}
	found, err := f.resolve(c, args, false)
	if err != nil {
		return err
	}
	line := progressOf(c)
	shown, err := f.play(c.Context(), found.Suites, told(line))
	line.Wipe()
	if err != nil {
		return err
	}
	return f.show(c, shown, fmt.Sprintf("driven %.0f s in %.1f s\n", shown.driving.Seconds(), line.Since()))
}

// show prints what was shown, with a closing line, and ends with its outcome.
func (f *faultsFlags) show(c *cobra.Command, shown shownFaults, closing string) error {
	out := screenOf(c)
	if f.json {
		if err := out.JSON(shown.result); err != nil {
			return err
		}
		if shown.interrupted != "" {
			closing = shown.interrupted + "\n" + closing
		}
		fmt.Fprint(c.ErrOrStderr(), closing)
	} else {
		shown.print(out)
		fmt.Fprint(out, closing)
	}
	return endWith(exitOf(shown.outcome))
}

// told returns what tells on a line how far a campaign has come.
func told(line *terminal.Progress) func(campaign.Progress) {
	return func(p campaign.Progress) { line.Show(p.Words(line.Since())) }
}

// shownFaults is what a campaign showed.
type shownFaults struct {
	result      any // as it is written as JSON
	outcome     string
	interrupted string // how far it came; empty: to its end
	driving     signal.Time
	print       func(s *screen)
}

// boards returns the built-in boards that suites of these names are played to.
func (f *faultsFlags) boards(names []string) []string {
	return campaign.BoardsFor(f.board, f.car != "" || f.bench != "" || f.null || f.command != "" || slices.ContainsFunc(names, setup.IsOwn))
}

// play plays the suites of these names to the boards that the flags name; without a name all
// standard ones.
func (f *faultsFlags) play(ctx context.Context, names []string, progress func(campaign.Progress)) (shownFaults, error) {
	files, err := f.filesOf(f.boards(names), names)
	if err != nil {
		return shownFaults{}, err
	}
	if f.null {
		a, err := campaign.RunNulls(ctx, files[0], progress)
		if err != nil {
			return shownFaults{}, err
		}
		return shownFaults{a, a.Outcome, a.Interrupted(), a.Driving, func(s *screen) { printNulls(s, a) }}, nil
	}
	own := language.Source{Path: f.file}
	if f.file != "" {
		if own.Data, err = inputsOf(ctx).Read(f.file); err != nil {
			return shownFaults{}, fmt.Errorf("--faults-file: %w", err)
		}
	}
	subjects, err := campaign.Subjects(files, own)
	if err != nil {
		return shownFaults{}, err
	}
	split, err := parts.ParseSplit(f.shard, version())
	if err != nil {
		return shownFaults{}, err
	}
	a, err := campaign.RunFaults(ctx, subjects, split, progress)
	if err != nil {
		return shownFaults{}, err
	}
	return shownFaults{a, a.Outcome, a.Interrupted(), a.Driving, func(s *screen) { printFaults(s, a) }}, nil
}

// filesOf returns for each of boards, with its car and bench, suites of these names after others; without a name all
// standard ones.
func (f *faultsFlags) filesOf(boards, names []string, after ...string) (files []suites.Files, err error) {
	if len(names) == 0 {
		names = standard.Names()
	}
	for _, board := range boards {
		on := f.inputFlags
		on.board = board
		one, err := on.files(append(after, names...))
		if err != nil {
			return nil, err
		}
		files = append(files, one)
	}
	return files, nil
}

// writeTable plays standard suites, the signs of life too, to each seeded fault and writes the table of what fails with it.
// Of suites that are not named the file keeps what it has.
func (f *faultsFlags) writeTable(c *cobra.Command, args []string) error {
	older, err := faults.ReadFile(f.table)
	if err != nil {
		return err
	}
	files, err := f.filesOf(campaign.Boards(), args, standard.Life)
	if err != nil {
		return err
	}
	line := progressOf(c)
	made, err := campaign.RunTable(c.Context(), files, told(line))
	line.Wipe()
	if c.Context().Err() != nil && made == nil {
		fmt.Fprintln(c.ErrOrStderr(), "interrupted; a table has each fault or would say that nothing fails with it, so that none was written")
		return endWith(exitNotShown)
	}
	if err != nil {
		return err
	}
	made.Keep(older, standard.Names())
	return writeTo(f.table, c.OutOrStdout(), made.Write)
}

// listFaults writes one fault of these boards a line: board, name, sentence.
func listFaults(s *screen, boards []string) {
	var rows table
	for _, board := range boards {
		for _, f := range campaign.SeededInto(board) {
			rows = append(rows, []string{f.Board, f.Name, f.Says()})
		}
	}
	rows.Print(s, "")
}
