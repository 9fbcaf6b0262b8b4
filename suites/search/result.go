package search

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/suites/parts"
	"hilrig/suites/record"
)

// Finding is a check that fails in a drive.
type Finding struct {
	Check     string   `json:"check"`     // its name
	Why       string   `json:"why"`       // how it failed, in a sentence
	Drive     int      `json:"drive"`     // in which it was seen first, counted from 1
	Round     int      `json:"round"`     // of the search, in which that was played, counted from 0
	Seeds     []uint64 `json:"seeds"`     // at which the shrunk drive was played and the check failed
	Confirmed bool     `json:"confirmed"` // it failed at three seeds
	File      string   `json:"file"`      // a name for the suite file
	Suite     string   `json:"suite"`     // the shrunk drive as the text of a suite file
}

// Result is what a search came to. Found are the checks that failed at another seed too, NotAgain those that did not.
type Result struct {
	Seed    uint64 `json:"seed"`    // of what was drawn
	Flags   string `json:"flags"`   // with which hilrig run plays to the same board
	Outcome string `json:"outcome"` // "GO": nothing was found and something was judged; or "NO-GO", "NOT SHOWN", "PART"
	Round
	Found    []Finding   `json:"found"`             // checks that failed at another seed too
	NotAgain []Finding   `json:"not_again"`         // checks that did not
	Stopped  bool        `json:"stopped,omitempty"` // before its end
	Driving  signal.Time `json:"-"`                 // in all, of what was played here
	Part     *Part       `json:"part,omitempty"`    // which part this is of a search that was split; absent: it is all
}

// Round is what the drives of one round came to, or those of several.
type Round struct {
	Drives    int `json:"drives"`    // played
	Judged    int `json:"judged"`    // of them, by what the policy says
	Reached   int `json:"reached"`   // combinations of values that channels and commands came to, of each line for itself
	Forgotten int `json:"forgotten"` // drives in which a check failed that had failed before in the same line
}

// plus returns the sum of two.
func (r Round) plus(x Round) Round {
	return Round{r.Drives + x.Drives, r.Judged + x.Judged, r.Reached + x.Reached, r.Forgotten + x.Forgotten}
}

// add counts a round that was played.
func (r *Result) add(x Round) {
	r.Round = r.plus(x)
	if r.Part != nil {
		r.Part.Rounds = append(r.Part.Rounds, x)
	}
}

// The outcomes of a search, beside [record.NotShown] and [record.PartEnded]: that nothing is found is no GO.
const (
	Found        = "FOUND"
	NothingFound = "NOTHING FOUND"
)

// Words is the outcome for a person, as "FOUND 2".
func (r *Result) Words() string {
	if r.Outcome == Found {
		return fmt.Sprintf("%s %d", Found, len(r.Found))
	}
	return r.Outcome
}

// seal sets the outcome, and of a part its digest. It is FOUND where something was found, NOT SHOWN where the search was
// stopped, a check failed that did not fail again or nothing was judged, else NOTHING FOUND.
func (r *Result) seal() {
	switch {
	case r.Part != nil && r.Stopped:
		r.Outcome = record.NotShown
	case r.Part != nil:
		r.Outcome = record.PartEnded
	case len(r.Found) > 0:
		r.Outcome = Found
	case r.Stopped || len(r.NotAgain) > 0 || r.Judged == 0:
		r.Outcome = record.NotShown
	default:
		r.Outcome = NothingFound
	}
	if r.Part != nil {
		parts.Seal(r)
	}
}
