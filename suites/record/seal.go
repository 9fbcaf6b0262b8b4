package record

import (
	"bytes"
	"encoding/json"

	"hilrig/assertions"
)

// The outcomes of a run.
const (
	Go        = "GO"        // every check that was asked passed, and there was one
	NoGo      = "NO-GO"     // a check failed
	NotShown  = "NOT SHOWN" // undecided, not run, or nothing was asked
	PartEnded = "PART"      // a part of a run ended; of several parts [Join] has the outcome, of chosen cases there is none
	Measured  = "MEASURED"  // something was measured, and nothing was asked of it
)

// The verdicts of checks and cases. [NotRun] and [Skipped] are of cases alone:
// a skipped case was left out on purpose, as its power level or --only asks, and does not
// stand against the outcome; one that did not run does.
const (
	Pass      = string(assertions.Pass)
	Fail      = string(assertions.Fail)
	Undecided = string(assertions.Undecided)
	NotAsked  = string(assertions.NotAsked)
	// MeasuredOnly is of a check that held nothing against a limit, for none was set.
	MeasuredOnly = string(assertions.MeasuredOnly)
	NotRun       = "not run"
	Skipped      = "skipped"
)

// LeftByOnly is why a case was skipped that the person left out by choosing others. Where all that was played
// passed, that is a part of a run, and never a GO.
const LeftByOnly = "left out by --only"

// Unmet are the verdicts of checks that stand against GO, the worst first.
var Unmet = [...]string{Fail, Undecided}

// Worse returns the worse of two verdicts of checks, in the order of [assertions.Verdict.Compare].
func Worse(a, b string) string {
	return string(assertions.Worse(assertions.Verdict(a), assertions.Verdict(b)))
}

// Worst returns the verdict of a case with these checks: the worst of theirs. Without any
// check it is undecided.
func Worst(checks []Check) string {
	if len(checks) == 0 {
		return Undecided
	}
	worst := NotAsked
	for i := range checks {
		worst = Worse(worst, checks[i].Verdict)
	}
	return worst
}

// Seal completes the result: it rounds the numbers, sets each case's verdict
// from its checks unless it is [NotRun] or [Skipped], counts, and sets format,
// outcome and digest. Sealing again changes nothing. Cases have to stand in
// plan order.
func (r *Result) Seal() {
	r.Format = Format
	r.Counts = Counts{}
	if r.Suites == nil {
		r.Suites = []Suite{}
	}
	open := false   // a case stands against GO, though none of its checks may
	chosen := false // cases were left out by choosing others
	for i := range r.Suites {
		s := &r.Suites[i]
		s.Counts = Counts{}
		if s.Cases == nil {
			s.Cases = []Case{}
		}
		for j := range s.Cases {
			c := &s.Cases[j]
			c.seal()
			s.Counts.Add(c)
			r.Counts.Add(c)
			chosen = chosen || c.Verdict == Skipped && c.Why == LeftByOnly
			open = open || c.Verdict == NotRun || c.Verdict == Undecided
		}
	}
	switch n := &r.Counts; {
	case r.Why != "":
		r.Outcome = NotShown
	case r.Part != nil:
		r.Outcome = PartEnded
	case n.Fail > 0:
		r.Outcome = NoGo
	case n.Measured > 0 && n.Pass+n.Undecided == 0 && !open:
		r.Outcome = Measured
	case open, n.Undecided > 0, n.Pass == 0:
		r.Outcome = NotShown
	case chosen:
		r.Outcome = PartEnded
	default:
		r.Outcome = Go
	}
	r.Digest = ""
	r.Digest = sumOf(r.compact())
}

// seal rounds the case's numbers and settles its verdict.
func (c *Case) seal() {
	if c.Checks == nil {
		c.Checks = []Check{}
	}
	for i := range c.Checks {
		k := &c.Checks[i]
		for _, x := range []**float64{&k.Estimate, &k.Low, &k.High, &k.LimitLow, &k.LimitHigh, &k.Statistics, &k.Instrument} {
			if *x != nil { // it may have been put into the check without [Number]
				*x = Number(**x)
			}
		}
	}
	if c.Verdict != NotRun && c.Verdict != Skipped {
		c.Verdict = Worst(c.Checks)
	}
}

// Add counts one sealed case and its checks.
func (n *Counts) Add(c *Case) {
	n.Cases++
	if c.Verdict == NotRun || c.Verdict == Skipped {
		n.NotRun++
	}
	for i := range c.Checks {
		switch c.Checks[i].Verdict {
		case NotAsked:
			n.NotAsked++
		case MeasuredOnly:
			n.Measured++
		case Pass:
			n.Pass++
		case Fail:
			n.Fail++
		default:
			n.Undecided++
		}
	}
}

// Played returns the counts of what was played, where anything passed: that more was not played is said beside them.
func (n Counts) Played() Counts {
	if n.Pass > 0 {
		n.NotRun = 0
	}
	return n
}

// Worst returns the worst verdict that was counted; a case that did not run is better than a
// check that is undecided and worse than one that passed. Of nothing it is NotAsked.
func (n Counts) Worst() string {
	switch {
	case n.Fail > 0:
		return Fail
	case n.Undecided > 0:
		return Undecided
	case n.NotRun > 0:
		return NotRun
	case n.Pass > 0:
		return Pass
	case n.Measured > 0:
		return MeasuredOnly
	}
	return NotAsked
}

// JSON returns the result as it stands in result.json, indented, with a
// newline at its end. The result has to be sealed.
func (r *Result) JSON() []byte { return indented(r.compact()) }

// indented returns valid JSON with a key on a line, and a newline at its end.
func indented(data []byte) []byte {
	var b bytes.Buffer
	_ = json.Indent(&b, data, "", "  ") // what is valid it does not refuse
	b.WriteByte('\n')
	return b.Bytes()
}

// compact returns the result in the form over which the digest is taken: keys
// in the order of the types, no space between tokens, and without the label, which is the host's.
func (r *Result) compact() []byte {
	kept := *r
	kept.Label = ""
	data, err := encode(&kept)
	if err != nil {
		panic(err) // only a number that is not finite could do that, and Seal dropped those
	}
	return data
}

// encode returns v as JSON on one line, without a newline.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// intact reports whether data, a result.json, is what its digest says. It
// reads the bytes, not the types: a key that a later version added counts too.
func intact(data []byte, digest string) bool {
	var b bytes.Buffer
	if err := json.Compact(&b, bytes.Replace(data, []byte(digest), nil, 1)); err != nil {
		return false
	}
	return sumOf(b.Bytes()) == digest
}
