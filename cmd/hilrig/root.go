package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites/language"
	"hilrig/suites/live"
)

// run does what the command line args say and returns the exit code. When ctx
// is done it ends as after Ctrl-C: with what there is.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := newRoot()
	root.SetArgs(args)
	results, out := resultsOn(stdout)
	root.SetOut(out)
	root.SetErr(stderr)
	err := root.ExecuteContext(withInputs(ctx, inputsOf(ctx)))
	return results.close(codeOf(ctx, err, results, stderr), stderr)
}

// codeOf returns the exit code of a command that ended with err, having said on stderr what
// there is to say of it.
func codeOf(ctx context.Context, err error, results *results, stderr io.Writer) int {
	var e ended
	switch {
	case err == nil:
		return exitGo
	case results.err != nil && errors.Is(err, results.err):
		return exitWrong // close says it
	case errors.As(err, &e):
		return e.code
	case ctx.Err() != nil && errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "hilrig: stopped")
		return exitNotShown
	}
	var problems language.Problems
	if errors.As(err, &problems) {
		fmt.Fprintln(stderr, problems) // each begins with its place, for editors to go to
		return exitWrong
	}
	fmt.Fprintln(stderr, "hilrig:", usage.Said(err))
	if errors.As(err, new(live.Unavailable)) {
		return exitNotShown
	}
	return exitWrong
}

// newRoot returns the command hilrig with all its commands.
func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "hilrig",
		Short: "prove a torque-vectoring car's firmware on the bench",
		Long: `hilrig plays a small four-motor car to its controller board, reads the motor
commands that come back, and says whether the board does what its owner
declares: GO, NO-GO or NOT SHOWN.`,
		Example: `  hilrig run
  hilrig play steer=8deg speed=4m/s yaw=70%`,
		Version:       version(),
		Annotations:   map[string]string{usage.After: exitsAndEnvironment},
		SilenceErrors: true,
		SilenceUsage:  true,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("{{.Name}} {{.Version}}\n")
	root.Flags().Bool("version", false, "say version and commit")
	root.AddCommand(newRun(), newPlay(), newFaults(), newList(), newLint(), newNew(), newReport(), newRecords(), newCompare(), newRate(), newSearch(), newWiring(), newRelease(), newReady(), newTiming(), newESC(), newVersion())
	usage.Speak(root)
	complete(root)
	return root
}
