package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
)

// version returns the version and commit that this program was built from, with the Go
// release and system that it was built by and for.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		info = new(debug.BuildInfo)
	}
	return fmt.Sprintf("%s, %s %s/%s", sourceOf(info), runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

// commitDigits is how much of a commit's name is shown.
const commitDigits = 12

// sourceOf returns what a build says of its source: "version v1.2.0, commit 0123456789ab".
// What it does not say, as where it was built without version control, is unknown.
func sourceOf(info *debug.BuildInfo) string {
	release, commit, changed := info.Main.Version, "unknown", ""
	if release == "" || release == "(devel)" { // what Go calls a build of no version
		release = "unknown"
	}
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && s.Value != "":
			commit = s.Value[:min(commitDigits, len(s.Value))]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = " with changes"
		}
	}
	return "version " + release + ", commit " + commit + changed
}

// newVersion returns the command that says what this program was built from.
func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "say version and commit, and what it was built by and for",
		Example: `  hilrig version
  hilrig --version`,
		Args: usage.Arguments(0, 0),
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintf(c.OutOrStdout(), "hilrig %s\n", version())
			return err
		},
	}
}
