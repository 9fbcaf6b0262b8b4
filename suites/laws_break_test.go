package suites_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant/portable"
	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// breakDrawn breaks a key of the n-th law: it draws evenly among the keys that the law declares, and
// then among the ways of breaking one. What the law itself calls no breach is drawn again.
func breakDrawn(t *testing.T, n uint64, d *drawnLaw, declared *suites.Setup) (key, way string, b board.Settings) {
	t.Helper()
	l := &lot{portable.NewNoise(n+1, "breaches")}
	for _, key := range shuffled(l, d.keys) {
		for _, x := range shuffled(l, slices.DeleteFunc(slices.Clone(breaches), func(x breach) bool { return x.key != key.key })) {
			if b, ok := x.broken(t, n, d, declared, l); ok {
				return x.key, x.way, b
			}
		}
	}
	require.Fail(t, "no breach fits")
	return "", "", b
}

// shuffled returns all in a drawn order.
func shuffled[T any](l *lot, all []T) []T {
	all = slices.Clone(all)
	for i := range all {
		k := i + int(l.Uint64()%uint64(len(all)-i))
		all[i], all[k] = all[k], all[i]
	}
	return all
}

// broken returns a board that keeps the drawn law but for the breach; false where that is no breach of it.
func (x *breach) broken(t *testing.T, n uint64, d *drawnLaw, declared *suites.Setup, l *lot) (b board.Settings, ok bool) {
	t.Helper()
	f := bramble("")
	f.Car, f.Bench, f.Seed = d.whole, d.bench, n+1
	whole := load(t, f)
	is := &whole.Car.Policy
	was := *is
	if x.policy != nil && !x.policy(is, l) {
		return b, false
	}
	b, err := whole.OfPolicy()
	if err != nil { // the built-in board cannot keep both
		return b, false
	}
	within(n+1, is, &b)
	switch {
	case x.board != nil && !x.board(&b, is):
		return b, false
	case x.breaks != nil:
		return b, x.breaks(declared, &was, is)
	case x.policy != nil:
		return b, commandsDiffer(declared, &was, is)
	}
	return b, true
}

// commandsDiffer says whether somewhere the law of what is declared leaves no room for what a board commands that keeps
// another policy, and the policy as it was has it command otherwise: what goes past the declared law unbroken, for that
// leaves something out, is no sign of a breach.
func commandsDiffer(declared *suites.Setup, was, is *law.Policy) bool {
	return differ(declared, was, is, func(_ *law.Inputs, a, b *law.Answer) bool { return sumsApart(a, b) || motorsApart(a, b) })
}

// sumsDiffer says the same of the sum of the four commands alone, where no motor comes to a limit, which moves the sum by
// itself.
func sumsDiffer(declared *suites.Setup, was, is *law.Policy) bool {
	return differ(declared, was, is, func(_ *law.Inputs, a, b *law.Answer) bool { return a.Perhaps == [4]bool{} && sumsApart(a, b) })
}

// differ says whether somewhere the answer of the law of what is declared and that of a board that keeps another policy are
// apart, and the board's is apart from that of one which keeps the policy as it was.
func differ(declared *suites.Setup, was, is *law.Policy, apart func(in *law.Inputs, a, b *law.Answer) bool) bool {
	asked := file.LawOn(&declared.Car.Policy, declared.Bench)
	unbroken, kept := file.LawOn(exactly(was), declared.Bench), file.LawOn(exactly(is), declared.Bench)
	for _, x := range operatingPoints(is) {
		x.Track = declared.Car.Car.FrontTrack
		in := kept.Inputs(x, law.Identity())
		a, b := asked.At(&in), kept.At(&in)
		if !apart(&in, &a, &b) {
			continue
		}
		in = unbroken.Inputs(x, law.Identity())
		if c := unbroken.At(&in); apart(&in, &b, &c) {
			return true
		}
	}
	return false
}

// exactly returns the policy of what a board commands that keeps p within none of its tolerances: its sum is what the four
// commands come to, whether p has it kept or not.
func exactly(p *law.Policy) *law.Policy {
	exact := *p
	exact.SumKept = false
	if exact.Demand != nil {
		d := *exact.Demand
		d.Within = 0
		exact.Demand = &d
	}
	if exact.ShiftAt != nil {
		at := *exact.ShiftAt
		at.Within = 0
		exact.ShiftAt = &at
	}
	return &exact
}

// sumsApart says whether the sums of two laws' answers have nothing in common.
func sumsApart(a, b *law.Answer) bool { return apart(a.Sum, b.Sum) }

// motorsApart says whether two laws' answers have nothing in common in some motor's command.
func motorsApart(a, b *law.Answer) bool {
	for i := range a.Commands {
		if apart(a.Commands[i], b.Commands[i]) {
			return true
		}
	}
	return false
}

// apart says whether two intervals have nothing in common. One that is empty says nothing: what a policy declares of a sum
// cannot be kept there, by no board.
func apart(a, b assertions.Limit) bool {
	return a.Low <= a.High && b.Low <= b.High && (a.Low > b.High+shows || b.Low > a.High+shows)
}

// shows is by how much a mean of commands has to lie off for a check to show it, share of range; common practice, no source.
const shows = 0.002

// operatingPoints lists points over all that a car goes through, the yaw rates by the demand of a policy.
func operatingPoints(p *law.Policy) (all []law.Point) {
	const degree = math.Pi / 180
	for _, speed := range []float64{-4, -1, 0, 0.2, 1, 2, 4, 8} {
		for _, steer := range []float64{0, 0.5, 1, 2, 4, 8, 14} {
			demand := 0.5
			if p.Demand != nil && speed*steer != 0 {
				demand = p.Demand.YawRate(speed, steer*degree)
			}
			for _, share := range []float64{-2, -1, -0.4, 0, 0.4, 0.8, 0.95, 0.99, 1, 1.01, 1.05, 1.2, 1.6, 2.5} {
				for _, throttle := range []float64{0.04, 0.1, 0.4, 0.8, 1} {
					for _, gain := range []float64{0.2, 0.4, 0.5, 0.8, 1} {
						all = append(all, law.Point{Steer: steer * degree, Speed: speed, YawRate: share * demand, Throttle: throttle, Gain: gain})
					}
				}
			}
		}
	}
	return all
}

// TestABrokenPointOfADrawnLawIsFound breaks each drawn law in one point that it declares, by another
// word or a number that is off by one and a half times its tolerance, and counts how often the
// run is NO-GO and a check that fails names the key. Of the standard suites those cases are played whose checks may.
// One law is played again by -run 'IsFound/law_17$'.
func TestABrokenPointOfADrawnLawIsFound(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	named, all := 0, 0
	for n := range uint64(brokenLaws) {
		if !drawn.Row(int(n), 2) {
			continue
		}
		t.Run(fmt.Sprintf("law %d", n+1), func(t *testing.T) {
			all++
			if why := missOf(t, n); why != "" {
				t.Log(why)
			} else {
				named++
			}
		})
	}
	t.Logf("of %d broken laws %d are NO-GO with a check that names the point", all, named)
	assert.GreaterOrEqual(t, float64(named+brokenMissed), namedAtLeast*float64(all))
}

// namedAtLeast is the share of the broken laws of which a check has to name the broken point.
const namedAtLeast = 0.95

// missOf plays the n-th law, broken, and says in what way that was not found; empty where it was.
func missOf(t *testing.T, n uint64) string {
	t.Helper()
	d := drawLaw(n + 1)
	f := bramble("")
	f.Car, f.Bench, f.Seed = d.car, d.bench, n+1
	s := load(t, f)
	key, way, settings := breakDrawn(t, n, &d, s)
	s.WithBoard("broken", settings)
	s, err := s.Fitted(t.Context())
	require.NoError(t, err)
	cases := onlyAsking(s, key)
	broken := fmt.Sprintf("law %d: %s, %s", n+1, key, way)
	if cases == 0 {
		return broken + ": not asked in any case"
	}
	r, by := playUntilNamed(t, s, key)
	fails, asked := failing(r, key)
	if testing.Verbose() && !fails[key] {
		for _, text := range askedOf(r) {
			t.Log(text)
		}
	}
	switch {
	case fails[key] && r.Outcome == record.NoGo:
		t.Logf("%s: named by %s, of %d cases", broken, by, cases)
		return ""
	case len(fails) > 0:
		return fmt.Sprintf("%s: NO-GO that does not name it: %v", broken, fails)
	case asked == 0:
		return fmt.Sprintf("%s: not asked in %d cases that may ask it", broken, cases)
	}
	return fmt.Sprintf("%s: %s, all %d checks of it in %d cases hold", broken, r.Outcome, asked, cases)
}

// playUntilNamed plays a setup until a check that fails names the key, which is all that is asked of it, and returns the result
// so far and that check, with its case. A check that fails makes a run NO-GO, whatever comes after it.
func playUntilNamed(t *testing.T, s *suites.Setup, key string) (r *record.Result, by string) {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	r, _, err := s.Run(ctx, suites.Options{Workers: 1, Case: func(suite, _ int, c record.Case) {
		for _, x := range c.Checks {
			if by == "" && x.Verdict == record.Fail && slices.Contains(x.Keys, key) {
				by = fmt.Sprintf("%s, %s: %s", s.Suites[suite].Name, c.Title(), x.Name)
				stop()
			}
		}
	}})
	if by == "" || !errors.Is(err, context.Canceled) {
		require.NoError(t, err)
	}
	return r, by
}

// mayName says whether a check of a situation may name a key when it fails.
func mayName(situation, key string) bool {
	isLoss := func(s string) bool {
		return strings.HasSuffix(s, "_lost") || strings.HasSuffix(s, "_frozen") || s == "receiver_flag"
	}
	switch {
	case slices.Contains(assertions.KeysOf(situation), key):
		return situation != "follows"
	case situation == "recovers":
		return isLoss(key)
	case situation == "demand": // a sweep tells the dead band too
		return key == "demand" || key == "dead_band"
	case key == "safe_state": // of each loss that stops the motors
		return isLoss(situation)
	}
	return slices.Contains(assertions.KeysDecided(situation), key)
}

// onlyAsking leaves those cases of the suites whose checks may name a key, and returns how many.
func onlyAsking(s *suites.Setup, key string) (n int) {
	for _, suite := range s.Suites {
		suite.Cases = slices.DeleteFunc(suite.Cases, func(c file.Case) bool {
			return c.Closed || key != "longest_gap" && !slices.ContainsFunc(c.Expect, func(x file.Expectation) bool {
				branch, ok := x.Check.(assertions.PolicyBranch)
				return ok && x.NotAsked == "" && mayName(branch.Of, key)
			})
		})
		if key == "longest_gap" && len(suite.Cases) > 1 {
			suite.Cases = suite.Cases[:1] // it is asked in every case
		}
		n += len(suite.Cases)
	}
	s.Suites = slices.DeleteFunc(s.Suites, func(x *file.Suite) bool { return len(x.Cases) == 0 })
	first := func(c file.Case) bool { return mostAbout(&c, key) }
	for _, suite := range s.Suites {
		of, others := divided(suite.Cases, first)
		suite.Cases = append(of, others...)
	}
	of, others := divided(s.Suites, func(x *file.Suite) bool { return first(x.Cases[0]) })
	s.Suites = append(of, others...)
	return n
}

// mostAbout says whether a case has a check that is about a key by its name.
func mostAbout(c *file.Case, key string) bool {
	return slices.ContainsFunc(c.Expect, func(x file.Expectation) bool {
		branch, ok := x.Check.(assertions.PolicyBranch)
		return ok && x.NotAsked == "" && branch.Of == key
	})
}

// divided returns those of all that are so, and the others.
func divided[T any](all []T, so func(T) bool) (are, others []T) {
	for _, x := range all {
		if so(x) {
			are = append(are, x)
		} else {
			others = append(others, x)
		}
	}
	return are, others
}

// failing returns the keys of the policy that failed checks name, each check without being in quotes by its
// name, and how many checks were asked of situations that are about a key.
func failing(r *record.Result, key string) (named map[string]bool, asked int) {
	named = map[string]bool{}
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, x := range c.Checks {
				if x.Verdict != record.NotAsked {
					asked++
				}
				if x.Verdict != record.Fail {
					continue
				}
				named["«"+x.Name+"»"] = true
				for _, k := range x.Keys {
					named[k] = true
				}
			}
		}
	}
	return named, asked
}

// TestEveryKeyOfAPolicyCanBeBroken holds that each key of a policy is among the breaches, or among those that cannot be
// broken, with the reason.
func TestEveryKeyOfAPolicyCanBeBroken(t *testing.T) {
	for _, key := range file.PolicyKeys() {
		can := slices.ContainsFunc(breaches, func(x breach) bool { return x.key == key })
		why, cannot := unbreakable[key]
		assert.NotEqual(t, can, cannot, "%s", key)
		if cannot {
			t.Logf("not broken: %s: %s", key, why)
		}
	}
	for _, x := range breaches {
		assert.Contains(t, file.PolicyKeys(), x.key)
	}
}

// askedOf lists what was asked in a run and what was measured.
func askedOf(r *record.Result) (all []string) {
	for _, s := range r.Suites {
		for _, c := range s.Cases {
			for _, x := range c.Checks {
				if x.Verdict != record.NotAsked {
					all = append(all, fmt.Sprintf("%s, %s, %s: %s %s: %s in %s to %s, limits %s to %s %s", s.Name, c.Name, c.Variant, x.Verdict, x.Name, shown(x.Estimate), shown(x.Low), shown(x.High), shown(x.LimitLow), shown(x.LimitHigh), x.Why))
				}
			}
		}
	}
	return all
}
