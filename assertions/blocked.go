package assertions

import (
	"errors"
	"fmt"

	"hilrig/rig/signal"
)

// blocked is the error of what could not be read or shown. Its verdict stands where the
// check's own would.
type blocked struct {
	verdict Verdict
	why     string
	at      signal.Time
	step    string
}

// Error returns the reason.
func (b *blocked) Error() string { return b.why }

// blockedAt returns the error of a check that cannot be judged in step s, for a reason to
// be found at a time in the trace.
func (s *Step) blockedAt(v Verdict, at signal.Time, format string, args ...any) error {
	return &blocked{v, fmt.Sprintf(format, args...), at, s.Name}
}

// undecided returns the error of a check that cannot be judged in step s.
func (s *Step) undecided(format string, args ...any) error {
	return s.blockedAt(Undecided, s.From, format, args...)
}

// fails returns the error of a check that fails in step s, whatever else it would measure.
func (s *Step) fails(format string, args ...any) error {
	return s.blockedAt(Fail, s.From, format, args...)
}

// absent returns the error of a step in which what a check needs was not seen: the step fails
// where it surely had to be seen, else it leaves the check undecided.
func (s *Step) absent(surely bool, format string, args ...any) error {
	if surely {
		return s.fails(format, args...)
	}
	return s.undecided(format, args...)
}

// unjudged returns the result of a check that err keeps from being judged. An error of
// another type leaves it undecided.
func unjudged(name string, err error) Result {
	r := Result{Name: name, Verdict: Undecided, Why: err.Error()}
	var b *blocked
	if errors.As(err, &b) {
		r.Verdict, r.At, r.Step = b.verdict, b.at, b.step
	}
	return r
}
