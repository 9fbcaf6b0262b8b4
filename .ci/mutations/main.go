// Command mutations tries whether the tests notice what is broken on purpose. Its table,
// table.yaml, holds broken versions of the code: each a realistic mistake in one
// declaration, with the test that has to fail on it. A row that no longer applies, or
// whose test no longer exists, fails before anything is run: the code has moved, and the
// row has to move with it.
//
//	go run ./.ci/mutations                 all rows, with a table of results
//	go run ./.ci/mutations -n 10           ten of them, chosen by the commit
//	go run ./.ci/mutations -check          whether all rows apply, without a test run
//	go run ./.ci/mutations -only NAME      the rows whose name holds NAME
//
// The code itself is not touched: go test gets the changed file by -overlay. Each test is
// first run on the code as it is, where it has to pass. The exit status is 0 where every
// broken version that was tried was noticed, 1 where one was not, 2 for wrong use.
package main

import (
	"flag"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strings"
	"time"
)

const tablePath = ".ci/mutations/table.yaml"

// options are what the command line says.
type options struct {
	count   int
	seed    string
	only    string
	check   bool
	timeout time.Duration
}

func main() {
	var o options
	flag.IntVar(&o.count, "n", 0, "try so many rows, chosen by the seed; 0 tries all")
	flag.StringVar(&o.seed, "seed", "", "what the choice is drawn from (default the commit)")
	flag.StringVar(&o.only, "only", "", "try the rows whose name holds this")
	flag.BoolVar(&o.check, "check", false, "see whether all rows apply, and run no test")
	flag.DurationVar(&o.timeout, "timeout", time.Minute, "how long one test may take")
	flag.Parse()
	if flag.NArg() > 0 || o.count < 0 || o.timeout <= 0 {
		flag.Usage()
		os.Exit(2)
	}
	if err := run(o); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run checks all rows and tries those that are asked for.
func run(o options) error {
	rows, err := load(tablePath)
	if err != nil {
		return err
	}
	if err := checkAll(rows); err != nil {
		return err
	}
	fmt.Printf("%d rows apply, and their tests exist\n", len(rows))
	if o.check {
		return nil
	}
	if rows, err = choose(rows, o); err != nil {
		return err
	}
	return tryAll(rows, o.timeout)
}

// choose returns the rows to be tried, in the order of the table.
func choose(rows []row, o options) ([]row, error) {
	rows = slices.DeleteFunc(slices.Clone(rows), func(r row) bool { return !strings.Contains(r.Name, o.only) })
	if len(rows) == 0 {
		return nil, fmt.Errorf("no row's name holds %q; see %s", o.only, tablePath)
	}
	if o.count == 0 || o.count >= len(rows) {
		return rows, nil
	}
	if o.seed == "" {
		out, err := exec.Command("git", "rev-parse", "HEAD").Output()
		if err != nil {
			return nil, fmt.Errorf("the commit to choose by: %w; give -seed", err)
		}
		o.seed = strings.TrimSpace(string(out))
	}
	h := fnv.New64a()
	h.Write([]byte(o.seed))
	picked := rand.New(rand.NewPCG(h.Sum64(), 0)).Perm(len(rows))[:o.count]
	slices.Sort(picked)
	var chosen []row
	for _, i := range picked {
		chosen = append(chosen, rows[i])
	}
	fmt.Printf("%d of %d, chosen by %s\n", o.count, len(rows), o.seed)
	return chosen, nil
}
