package suites_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
)

// boardOf returns the board that keeps a drawn law, somewhere within what it declares.
func boardOf(t *testing.T, n uint64, d *drawnLaw) board.Settings {
	t.Helper()
	f := bramble("")
	f.Car, f.Bench, f.Seed = d.whole, d.bench, n
	s := load(t, f)
	b, err := s.OfPolicy()
	require.NoError(t, err, "law %d:\n%s%s", n, d.whole.Data, d.bench.Data)
	within(n, &s.Car.Policy, &b)
	return b
}

// within takes the board that keeps a policy somewhere within what it declares.
func within(n uint64, p *law.Policy, b *board.Settings) {
	l := &lot{portable.NewNoise(n, "boards of laws")}
	// Each lies by at most three fifths of its tolerance away.
	off := func(within float64) float64 { return 1 + within*l.between(-0.6, 0.6, 0.1) }
	b.ShiftIs *= off(p.ShiftAt.Within)
	within := p.Demand.Within
	b.Wheelbase /= off(within)
	b.UndersteerGradient *= b.Wheelbase / p.Demand.Wheelbase
	b.ClockError = int(l.between(-200, 200, 1))
	b.Trim[l.Uint64()%4] = 0.3 * *p.MotorsEqualWithin
	if l.coin() {
		b.Step = 0.6 * *p.Resolution
	}
	b.WholeBand = b.WholeBand || l.coin()
	if p.ThrottleCurve.String() != "none" && l.coin() {
		b.ThrottleBend = 0.3
	}
	b.SumScaled = l.coin()
	if p.Cap.Cut == 0 {
		b.CapAfterShift = l.coin()
	}
}

// tally counts what failed or was left open, by check.
type tally struct {
	boards, checks, fails, open int
	declared, asked             int    // keys of all policies together
	leastAsked                  string // of the law of which the least share of the keys was asked
	least                       float64
	why                         map[string][]string
}

// note takes in what came of one law.
func (c *tally) note(law string, r *record.Result) {
	c.boards++
	c.declared += r.KeysDeclared
	c.asked += r.KeysAsked
	if share := float64(r.KeysAsked) / float64(r.KeysDeclared); c.leastAsked == "" || share < c.least {
		c.leastAsked, c.least = fmt.Sprintf("%s: %d of %d", law, r.KeysAsked, r.KeysDeclared), share
	}
	c.checks += r.Counts.Pass + r.Counts.Fail + r.Counts.Undecided
	c.fails += r.Counts.Fail
	c.open += r.Counts.Undecided
	for _, s := range r.Suites {
		for _, k := range s.Cases {
			for _, x := range k.Checks {
				if x.Verdict == record.Fail || x.Verdict == record.Undecided {
					name := fmt.Sprintf("%-9s %s / %s / %s", x.Verdict, s.Name, k.Name, x.Name)
					c.why[name] = append(c.why[name], fmt.Sprintf("%s, %s: %s in %s to %s, limits %s to %s: %s", law, k.Variant,
						shown(x.Estimate), shown(x.Low), shown(x.High), shown(x.LimitLow), shown(x.LimitHigh), x.Why))
				}
			}
		}
	}
}

// shown writes a number that may be none.
func shown(x *float64) string {
	if x == nil {
		return "-"
	}
	return fmt.Sprintf("%.4g", *x)
}

// String is a table, the most frequent first.
func (c *tally) String() string {
	var w strings.Builder
	fmt.Fprintf(&w, "%d laws, %d checks, %d failed, %d open; %d of %d declared keys asked, least of %s\n", c.boards, c.checks, c.fails, c.open, c.asked, c.declared, c.leastAsked)
	names := slices.SortedFunc(maps.Keys(c.why), func(a, b string) int { return cmp.Or(len(c.why[b])-len(c.why[a]), cmp.Compare(a, b)) })
	for _, name := range names {
		fmt.Fprintf(&w, "%5d  %s\n         %s\n", len(c.why[name]), name, c.why[name][0])
	}
	return w.String()
}

// TestBoardsThatKeepADrawnLaw plays the standard suites to boards that keep laws drawn at
// random.
func TestBoardsThatKeepADrawnLaw(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	c := &tally{why: map[string][]string{}}
	for n := range uint64(drawnLaws) {
		d := drawLaw(n + 1)
		f := bramble("")
		f.Car, f.Bench, f.Seed = d.car, d.bench, n+1
		b := boardOf(t, n+1, &d)
		s := load(t, f)
		s.WithBoard("drawn", b)
		r, _ := play(t, s, suites.Options{})
		c.note(fmt.Sprintf("law %d", n+1), r)
	}
	t.Log("\n" + c.String())
	assert.NotZero(t, c.checks) // what fails is a list of what the checks do not know yet
}
