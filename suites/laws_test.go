package suites_test

import (
	"cmp"
	"flag"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
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
	throttleStep := 1e3 / math.Abs(float64(b.ThrottleFull-b.ThrottleIdle)) // of a pulse that is counted in us
	if l.coin() {
		b.Step = max(min(0.6**p.Resolution, 0.9**p.Resolution-2*1.3*throttleStep), 0)
	}
	b.WholeBand = b.WholeBand || l.coin()
	if p.ThrottleCurve.String() != "none" && l.coin() {
		b.ThrottleBend = 0.3
	}
	b.SumScaled = l.coin()
	if p.Cap.Cut == 0 {
		b.CapAfterShift = l.coin()
	}
	// What it takes for lost until the next power-up it waits for: it would be lost from the first moment on.
	drivesOn := func(loss *law.Loss, in law.Input) bool {
		return loss != nil && loss.Then != law.LossIdle && cmp.Or(loss.Recovers, p.Recovers) != law.RecoversAtPowerCycle &&
			!slices.Contains(p.StartWaitsFor, in) && l.coin()
	}
	b.StartsWithout = board.Absent{
		Steer: drivesOn(p.SteerLost, law.InputSteer), Gain: drivesOn(p.GainLost, law.InputGain),
		Yaw: drivesOn(p.YawLost, law.InputYawRate) && p.StartAtRest == nil, // for it rests for the sensor's zero
	}
}

// tally counts what failed or was left open, by check.
type tally struct {
	boards, checks, fails, open int
	declared, asked             int    // keys of all policies together
	leastAsked                  string // of the law of which the least share of the keys was asked
	least                       float64
	why                         map[string][]string
	keys                        keyCounts
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
		fmt.Fprintf(&w, "%5d  %s\n", len(c.why[name]), name)
		for _, why := range c.why[name][:min(len(c.why[name]), 4)] {
			fmt.Fprintf(&w, "         %s\n", why)
		}
	}
	return w.String()
}

// laws are the drawn laws that are played in place of the first few.
var laws = flag.String("laws", "", "the drawn laws to play, such as 17 or 1-20,33")

// cases are the cases that are then played, by a part of their name.
var cases = flag.String("cases", "", "of the drawn laws, play the cases whose name, with its variant, contains this")

// named are the standard suites that are then played.
var named = flag.String("suites", "", "the standard suites to play to the boards of laws and of other words, such as split,limits, beside the signs of life; empty: a few, with the tag full all")

// playedNames returns the names of the standard suites that boards of laws are played, none where it is all.
func playedNames() []string {
	if *named == "" {
		return nil
	}
	return strings.FieldsFunc(*named, func(r rune) bool { return r == ',' })
}

// lawsToPlay returns the numbers of the laws that a test plays, from 1 on.
func lawsToPlay(t *testing.T) (all []uint64) {
	t.Helper()
	if *laws == "" {
		for n := range uint64(drawnLaws) {
			all = append(all, n+1)
		}
		return all
	}
	for part := range strings.SplitSeq(*laws, ",") {
		low, high, several := strings.Cut(part, "-")
		if !several {
			high = low
		}
		from, err := strconv.ParseUint(low, 10, 32)
		require.NoError(t, err, "-laws")
		to, err := strconv.ParseUint(high, 10, 32)
		require.NoError(t, err, "-laws")
		for n := from; n <= to; n++ {
			all = append(all, n)
		}
	}
	return all
}

// TestBoardsThatKeepADrawnLaw plays the standard suites to boards that keep laws drawn at
// random: no check fails, and of 1000 at most one is left open. Without the tag full it plays the laws of the flag alone, as the step long of CI does with the first. One law is played by go test ./suites -run KeepADrawnLaw -v -laws 17.
func TestBoardsThatKeepADrawnLaw(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	if drawnLaws == 0 && *laws == "" {
		t.Skip("the step long of CI plays one; -laws 1 does so by hand")
	}
	c := &tally{why: map[string][]string{}, keys: keyCounts{}}
	for _, n := range lawsToPlay(t) {
		t.Run(fmt.Sprint(n), func(t *testing.T) { playDrawnLaw(t, c, n) })
	}
	t.Log("\n" + c.String() + c.keys.String())
	assert.Zero(t, c.fails)
	assert.LessOrEqual(t, c.open*1000, c.checks)
	assert.NotZero(t, c.checks)
}

// playDrawnLaw plays the standard suites to a board that keeps a drawn law.
func playDrawnLaw(t *testing.T, c *tally, n uint64) {
	d := drawLaw(n)
	names := playedNames()
	if len(names) == 0 {
		names = standard.Names()
	}
	f := bramble("", append([]string{standard.Life}, names...)...) // as every run has them
	f.Car, f.Bench, f.Seed = d.car, d.bench, n
	b := boardOf(t, n, &d)
	s := load(t, f)
	s.WithBoard("drawn", b)
	r, _ := play(t, s, suites.Options{Only: *cases})
	name := fmt.Sprintf("law %d", n)
	c.note(name, r)
	_, why := plannedKeys(s)
	c.keys.note(n, s.KeysAsked(r), why)
	t.Logf("%s: %d checks, %d failed, %d open, %d of %d keys asked", name, r.Counts.Pass+r.Counts.Fail+r.Counts.Undecided, r.Counts.Fail, r.Counts.Undecided, r.KeysAsked, r.KeysDeclared)
	if troubled := troubles(r); len(troubled) > 0 {
		t.Logf("%s:\n%sthe board keeps:\n%s%s%s", name, policyIn(&d.car), policyIn(&d.whole), d.bench.Data, strings.Join(troubled, "\n"))
	}
}

// policyIn returns the policy of a car file.
func policyIn(car *language.Source) string {
	_, policy, _ := strings.Cut(string(car.Data), "\npolicy:\n")
	return policy
}

// Of each wire of the receiver whose loss stops something the loss is declared, since what it takes to drive again after it
// is taken too after the loss of the whole receiver, by a word of its own or by the policy's.
func TestADrawnLawSaysHowEachWireOfTheReceiverRecovers(t *testing.T) {
	for n := range uint64(100) {
		d := drawLaw(n + 1)
		for line := range strings.SplitSeq(policyIn(&d.whole), "\n") {
			key, own, _ := strings.Cut(strings.TrimSpace(line), ":")
			if slices.Contains([]string{"throttle_lost", "steer_lost", "gain_lost"}, key) && strings.Contains(own, "within") {
				assert.Contains(t, policyIn(&d.car), line, "law %d", n+1)
			}
		}
	}
}
