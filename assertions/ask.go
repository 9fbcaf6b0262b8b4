package assertions

import (
	"slices"

	"hilrig/assertions/law"
)

// ask is one thing that a situation asks of a step. Whether it is asked, and by what name, is
// settled before anything is judged, from the policy and the steps as they are meant: never by
// what the board did.
type ask struct {
	name string
	// judge returns the one result of what is asked, given the situation with the trace; nil
	// where it is not asked.
	judge func(b *branch) Result
	// why is why it is not asked or, where it is asked, why the step cannot show it.
	why string
	// keys are the keys of the policy that it asks; nil: those of its situation.
	keys []string
	// only are the keys of the policy that count as asked by it, where those are fewer than [KeysAsked] of its situation; nil: all of them.
	only []string
}

// asking returns something that is asked.
func asking(name string, judge func(b *branch) Result) ask { return ask{name: name, judge: judge} }

// of returns a as something that asks certain keys of the policy.
func (a ask) of(keys ...string) ask {
	a.keys = keys
	return a
}

// notAsking returns something that is not asked.
func notAsking(name, why string) ask { return ask{name: name, why: why} }

// unshown returns something that is asked and that the step cannot show, which stays open
// until the step is mended.
func unshown(name string, err error) ask {
	return ask{name: name, judge: func(*branch) Result { return unjudged(name, err) }, why: err.Error()}
}

// orUnshown returns a, or where err is not nil the same as something that the step cannot show.
func (a ask) orUnshown(err error) ask {
	if err != nil && a.judge != nil {
		return unshown(a.name, err)
	}
	return a
}

// result judges what is asked of a situation with its trace.
func (a ask) result(b *branch) Result {
	if a.judge == nil {
		r := Result{Name: a.name, Verdict: NotAsked, Why: a.why}
		if b.s != nil {
			r.Step, r.At = b.s.Name, b.s.From
		}
		return r
	}
	r := a.judge(b)
	r.Name = a.name
	if r.Verdict == Fail {
		r.Keys = b.keysOf(&a)
	}
	return r
}

// notAsked plans a situation that is not asked.
func (b *branch) notAsked(why string) []ask { return []ask{notAsking(b.title(), why)} }

// unshown plans a situation that the step cannot show.
func (b *branch) unshown(err error) []ask { return []ask{unshown(b.title(), err)} }

// asks returns what is asked of each of all.
func asks[T any](all []T, of func(x T) ask) []ask {
	asked := make([]ask, len(all))
	for i, x := range all {
		asked[i] = of(x)
	}
	return asked
}

// Planned is one thing that a check will say something of, whatever the board does.
type Planned struct {
	Name  string
	Asked bool
	// Why is why it is not asked or, of something that is asked, why the case as it is written
	// cannot show it; else it is empty.
	Why string
	// Only are the keys of the policy that count as asked by it, where those are fewer than [KeysAsked] of its
	// situation, as where no more than the sense of a shift can be told; nil: all of them.
	Only []string
}

// Keys returns the keys of a policy that count as asked by what is planned of a situation. The slice is the caller's.
func (p *Planned) Keys(situation string, policy *law.Policy) []string {
	if p.Only != nil {
		return slices.Clone(p.Only)
	}
	return KeysAsked(situation, policy)
}

// Plan returns what a check of a policy's situation will say something of, in order, given the
// policy and the steps; it reads no trace. [Judge] returns a result for each, by the same names.
func Plan(c PolicyBranch, e *Evidence) []Planned {
	_, all := c.plan(e)
	planned := make([]Planned, len(all))
	for i, a := range all {
		planned[i] = Planned{a.name, a.judge != nil, a.why, a.only}
	}
	return planned
}
