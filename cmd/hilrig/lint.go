package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// newLint returns the command that checks files without running them.
func newLint() *cobra.Command {
	var f inputFlags
	c := &cobra.Command{
		Use:   "lint [FILE...]",
		Short: "check car, bench, suite, stand and faults files without running them",
		Long: `Reads each file and shows every problem at its place, with what to write
instead, and warnings of what is allowed and may not be meant; of each suite how
long its longest case takes to play, and how much memory. Whether a file is
a car, a bench, a suite, a stand or a list of faults is told by its first key. Suites are
checked against the car and the bench among the files, or else those of --car and
--bench, or else the demo's. A name of a standard suite stands for that suite, and a
folder for all files that its hilrig.yaml names; without a FILE it is the hilrig.yaml here,
and the car and the bench of --car and --bench.

Ends with 0 where there are no problems, warnings or not, and with 3 otherwise.`,
		Example: `  hilrig lint mycar.yaml mybench.yaml mysuite.yaml
  hilrig lint mycar`,
		RunE: func(c *cobra.Command, args []string) error {
			found, err := f.resolve(c, args, false)
			if err != nil {
				return err
			}
			names := found.Given(args)
			if len(names) == 0 {
				return errors.New("lint: name the files to check, as in hilrig lint mycar.yaml mysuite.yaml, or a folder that hilrig new made")
			}
			given, err := f.files(names)
			if err != nil {
				return err
			}
			l := file.LintFiles(given.Suites, given.Car, given.Bench, given.Host, given.Read)
			printLinted(screenOn(c.OutOrStdout()), l, len(names))
			if len(l.Problems) > 0 {
				return endWith(exitWrong)
			}
			return nil
		},
	}
	f.addFiles(c)
	return c
}

// printLinted writes what was found in so many files, in the order of the files' kinds, and
// a closing line.
func printLinted(s *screen, l *file.Linted, files int) {
	if len(l.Problems) > 0 {
		fmt.Fprintln(s, l.Problems) // no more of them than anybody reads
	}
	for _, w := range l.Warnings {
		w.Message = "warning: " + w.Message
		fmt.Fprintln(s, language.Problems{w})
	}
	for _, size := range l.Sizes {
		fmt.Fprintf(s, "%s: %s, %s\n", size.Path, count(size.Cases, "case"), size.Longest)
	}
	text := fmt.Sprintf("%s, no problems", count(files, "file"))
	if n := l.Problems.Count(); n > 0 {
		text = fmt.Sprintf("%s, %s", count(files, "file"), count(n, "problem"))
	}
	if n := len(l.Warnings); n > 0 {
		text += ", " + count(n, "warning")
	}
	fmt.Fprintln(s, text)
}
