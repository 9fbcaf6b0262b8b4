// Package record is the form in which a run is kept: what was run, every
// verdict with estimate, limit and interval, and the traces' digests.
//
// A record has two parts. The deterministic part, [Result], is the same byte
// for byte for the same suites, bench, car, board and seed on every machine;
// its digest names it. The host part, [Host], holds dates, wall times and
// versions. Both are JSON; keys and their meaning stay as they are within one
// Format.
//
// On disk a record is one folder, written as the run goes by a [Writer]:
//
//	plan.json    before the first case: the result with every case "not run"
//	cases.jsonl  one line per case in the order in which they finished, each on the disk before Writer.Case returns
//	host.json    at the beginning and again at the end
//	along.gz     what the motors were commanded along each case and what was played, in bins of 10 ms
//	wires/       on a bench in real time: what was on the wires around the moments of a case's
//	             checks that failed or were left open, SUITE-INDEX.vcd.gz by places in the plan
//	moments/     on a bench in real time: what was played and commanded about those moments, frame by
//	             frame, SUITE-INDEX.json.gz by places in the plan
//	forms/       what the run came to in other forms, as pictures and tables
//	inputs/      before the first case: the files that were run, and list.json, which says what each was
//	result.json  at the end: the sealed result in plan order
//	SHA256SUMS   last: a digest of each file, for sha256sum --check
//
// So a crash or a pulled plug loses at most the cases in progress. [Read] takes
// the result, or rebuilds what there is of it from plan and cases. A record is
// never written to again once its run is over.
//
// The digests find what was damaged, cut short, lost or edited. They do not find somebody who
// edits a file and its digests too: the digest of the result that the run printed does.
//
// # Commands along cases
//
// along.gz holds one member of gzip for each case, in the order in which the cases ended. Unpacked, a
// member is one line of JSON with the case's place in the plan, start, length of a bin, number
// of bins, digest of what was played, uncertainty of each motor's commands and the names of the
// channels; then variable-length integers as Go's encoding/binary and protocol buffers (signed,
// zigzag) have them. For each motor: the means as steps from bin to bin in units of 1/20000 of the range, the least
// signed integer of 64 bits for a bin without a command; then for each bin with one how far the
// lowest command lies below its mean, then how far the highest lies above. For each channel:
// means as steps in units of 1/10000 of its unit.
//
// # Units and signs
//
// Times are in nanoseconds of the run, key suffix _ns. Numbers of a check are in
// the unit that stands beside them, rounded to nine significant digits; one
// that is not finite is left out. Signs are those of ISO 8855.
//
// What was not measured is never written as 0. A check that measured nothing has
// neither quantity, unit, estimate, interval nor limit, and its why says the reason
// (see [Check.Measured]); a limit that is open on a side has no key for that side.
//
// # Time
//
// Only [Host] and the folder's name hold the wall clock.
//
// # Sources
//
// JSON: RFC 8259. Packing: RFC 1952. Digests: SHA-256, FIPS 180-4; their file: sha256sum of GNU coreutils. Dates: RFC 3339. State folder:
// XDG Base Directory Specification 0.8.
package record

import "cmp"

// Format is the version of the record's form.
const Format = "hilrig-record-1"

// formats is how the formats of all versions are written.
const formats = "hilrig-record-%d"

// Result is the deterministic part of a record.
type Result struct {
	Format   string `json:"format"` // the version of the record's form
	Seed     uint64 `json:"seed"`   // of all that was drawn
	Car      Source `json:"car"`
	Bench    Source `json:"bench"`
	Board    Source `json:"board"`
	Real     string `json:"real_time,omitempty"` // the kind of bench that was played on in real time; absent: a simulated one
	Firmware string `json:"firmware,omitempty"`  // digest of the firmware file, sha256 in hex
	// Label is what the person noted. host.json keeps it; results of earlier versions did.
	Label string `json:"label,omitempty"`
	// Typed are the paths that the person typed, by what the result calls the files, where that differs; they are for a screen
	// and not kept.
	Typed map[string]string `json:"-"`
	Fresh bool              `json:"fresh,omitempty"` // the board was restarted before every case
	// Part says which part this is of a run that was split; absent: the result is of the whole.
	Part  *Part  `json:"part,omitempty"`
	Delay string `json:"delay"` // the loop's fixed delay, in words
	// Substituted is what the firmware took from another source than in the car: "yaw".
	Substituted []string `json:"substituted,omitempty"`
	Guessed     []Note   `json:"guessed,omitempty"`
	NotAsked    []Note   `json:"not_asked,omitempty"`
	Events      []Event  `json:"events,omitempty"` // what was odd while a speed controller was measured
	Suites      []Suite  `json:"suites"`
	Outcome     string   `json:"outcome"`       // "GO", "NO-GO", "NOT SHOWN", "MEASURED" or, of a part that ended or of chosen cases that all passed, "PART"
	Why         string   `json:"why,omitempty"` // why the run did not end; the outcome is then NOT SHOWN
	Counts      Counts   `json:"counts"`
	// Rests is what beside the board the outcome rests on: the model of the car, where the board
	// drove it and that had to be better.
	Rests string `json:"rests_on,omitempty"`
	// LooksLike are the seeded faults that what failed and passed looks like, the likest first: a likeness, which proves
	// nothing. Absent: nothing failed, or it looks like none.
	LooksLike []Like `json:"looks_like,omitempty"`
	// KeysAsked of the KeysDeclared keys of the policy that ask something were asked about.
	KeysAsked    int    `json:"policy_keys_asked,omitempty"`
	KeysDeclared int    `json:"policy_keys,omitempty"` // of the policy, that ask something
	Digest       string `json:"digest"`                // sha256 of this document with digest empty and no space between tokens
}

// Path returns the path that the person typed for a file that the result calls so, or that name.
func (r *Result) Path(name string) string { return cmp.Or(r.Typed[name], name) }

// Part is one of the parts that a run was split into. Each suite is played in one of them, the signs of life in each.
type Part struct {
	Number int      `json:"number"`               // counted from 1
	Of     int      `json:"of"`                   // how many parts there are
	Only   string   `json:"only,omitempty"`       // which cases were asked for, as --only says
	Left   []string `json:"left,omitempty"`       // the files of the suites that were left to other parts
	Asked  []string `json:"keys_asked,omitempty"` // the policy's keys that checks of this part asked about, sorted
}

// Source names one input and what it was.
type Source struct {
	Name   string `json:"name"`             // as the file gives it; of a built-in board what --board says
	File   string `json:"file,omitempty"`   // its name, without the folder that it lay in; absent: it is built in
	Digest string `json:"digest,omitempty"` // sha256 of the file's bytes
}

// Like is a seeded fault that a result looks like.
type Like struct {
	Board  string  `json:"board"`          // that has the fault: "built-in"
	Fault  string  `json:"fault"`          // its name: built-in:FAULT plays it
	Says   string  `json:"says,omitempty"` // what such a board does wrong, a sentence
	Common int     `json:"common"`         // of the failed checks: fail with the fault too
	Failed int     `json:"failed"`         // checks of standard suites
	Share  float64 `json:"share"`          // how much of what is no pass in the run or with the fault is so in both, from 0 to 1
}

// Note is one key with what there is to say of it.
type Note struct {
	Key  string `json:"key"`            // of the car, the policy or a case
	Part string `json:"part,omitempty"` // what of the key it is about, a key below it or a word that it has; absent: all of it
	Text string `json:"text"`           // a sentence
}

// Name returns what the note is about: "cap", "gain_lost: value".
func (n Note) Name() string {
	if n.Part == "" {
		return n.Key
	}
	return n.Key + ": " + n.Part
}

// Event is something odd that was seen while a speed controller was measured.
type Event struct {
	AtNS  int64  `json:"at_ns"`           // when it was seen first
	Place string `json:"place"`           // what it was seen of: "telemetry", "load_cell"
	Text  string `json:"text"`            // in words
	Count int64  `json:"count,omitempty"` // how often it was seen, where that was more than once
}

// Counts of the checks of a run or suite.
type Counts struct {
	Cases     int `json:"cases"`              // all that there are
	Pass      int `json:"pass"`               // checks
	Fail      int `json:"fail"`               // checks
	Undecided int `json:"undecided"`          // checks
	NotAsked  int `json:"not_asked"`          // checks, for the policy leaves out what they ask
	NotRun    int `json:"not_run"`            // cases that could not run or were skipped
	Measured  int `json:"measured,omitempty"` // checks that held nothing against a limit, for none was set
}

// Suite is one suite's part of a result.
type Suite struct {
	Name   string `json:"name"`  // as the file gives it
	About  string `json:"about"` // as the file gives it, a sentence
	File   string `json:"file"`  // its path; standard/NAME.yaml of a standard suite
	Cases  []Case `json:"cases"`
	Counts Counts `json:"counts"`
	// Timing is how well the rig itself kept time; absent on a perfect bench.
	Timing *Timing `json:"timing,omitempty"`
}

// Timing is how well the rig itself kept time in one suite.
type Timing struct {
	LatestNS     int64 `json:"latest_ns"`                // the worst by which an edge or message of the rig's was late, at least
	Late         int64 `json:"late"`                     // how many were late by more than LateFloorNS
	LateFloorNS  int64 `json:"late_floor_ns"`            // below this nothing counts as late
	Edges        int64 `json:"edges"`                    // captured, each between two looks of the sampler; with none the gaps are absent:
	MedianGapNS  int64 `json:"median_gap_ns,omitempty"`  // from look to look, of those, the quantiles to an eighth
	Gap95NS      int64 `json:"gap_95_ns,omitempty"`      // 95 % were no longer apart
	Gap99NS      int64 `json:"gap_99_ns,omitempty"`      // 99 %
	LongestGapNS int64 `json:"longest_gap_ns,omitempty"` // the longest
	Uncertain    int64 `json:"uncertain"`                // motor commands left out, for the sampler left them open
	Settled      int64 `json:"settled,omitempty"`        // motor commands one bit of which the sampler left open, and their checksum settled
	LeftOut      int   `json:"left_out"`                 // trials, updates and frames that checks did not use
	Again        int   `json:"again"`                    // case runs that were repeated
}

// Case is one expanded case's part of a result.
type Case struct {
	Name     string   `json:"name"`                   // as written in the suite
	Variant  string   `json:"variant,omitempty"`      // "turn left, speed 4 m/s"
	Line     int      `json:"line"`                   // in the suite's file
	Verdict  string   `json:"verdict"`                // the worst of its checks, "not run" or "skipped"
	Why      string   `json:"why,omitempty"`          // for not run and skipped
	StartNS  int64    `json:"start_ns"`               // time of the bench at which it began
	LengthNS int64    `json:"length_ns"`              // how long it was played
	Trace    string   `json:"trace_digest,omitempty"` // sha256 of the trace
	Notes    []string `json:"notes,omitempty"`        // what there is to say of it beside its checks, a sentence each
	Again    int      `json:"played_again,omitempty"` // how often it was played again, for the rig did not keep time or trials stood too near each other
	Checks   []Check  `json:"checks"`
}

// Check is one result of one check. Quantity and Estimate are there where something was
// measured, and only then Unit, the interval Low to High and the limits.
type Check struct {
	Name      string   `json:"name"`                 // what was asked, in words
	Verdict   string   `json:"verdict"`              // "pass", "fail", "undecided", "not asked" or "measured"
	Step      string   `json:"step,omitempty"`       // of the case, that was looked at; absent: the whole case
	Quantity  string   `json:"quantity,omitempty"`   // absent: nothing was measured
	Unit      string   `json:"unit,omitempty"`       // of all its numbers; empty: they have none
	Estimate  *float64 `json:"estimate,omitempty"`   // absent: nothing was measured
	Low       *float64 `json:"low,omitempty"`        // end of the interval of the estimate
	High      *float64 `json:"high,omitempty"`       // the other end
	LimitLow  *float64 `json:"limit_low,omitempty"`  // absent: open
	LimitHigh *float64 `json:"limit_high,omitempty"` // absent: open
	// Statistics and Instrument are what the interval is made of, standard
	// uncertainties in Unit; absent where it is not of that kind.
	Statistics *float64 `json:"statistics,omitempty"`
	Instrument *float64 `json:"instrument,omitempty"` // standard uncertainty that more readings do not make smaller, in Unit
	// Samples are the single readings of a response in Unit, in the order of its trials, to four
	// significant digits: up to 400 of them, so that the readings of two records can be compared.
	Samples []float64 `json:"samples,omitempty"`
	AtNS    int64     `json:"at_ns"`                 // time of the bench of what the verdict rests on
	Why     string    `json:"why,omitempty"`         // in a sentence; absent of most that pass
	Keys    []string  `json:"policy_keys,omitempty"` // of the policy, that a failed check asks, as far as that is known
	LeftOut int       `json:"left_out,omitempty"`    // trials, updates or frames not used, for the rig was late or its sampler left them open
	File    string    `json:"file"`                  // of the suite
	Line    int       `json:"line"`                  // of the expectation in the suite's file
	Excerpt string    `json:"excerpt,omitempty"`     // its YAML lines, for a check that is no pass
}

// Measured says whether the check measured something. Records of earlier versions wrote
// zeros for what was not measured, but never a quantity.
func (c *Check) Measured() bool { return c.Quantity != "" && c.Estimate != nil }

// Host is the part of a record that differs from machine to machine.
type Host struct {
	Began    string  `json:"began"`             // RFC 3339
	WallS    float64 `json:"wall_s"`            // how long the run took by the wall clock
	DrivingS float64 `json:"driving_s"`         // virtual time played
	Program  string  `json:"program"`           // version
	Go       string  `json:"go"`                // version of the compiler
	System   string  `json:"system"`            // GOOS/GOARCH
	Machine  string  `json:"machine,omitempty"` // which computer it is, where that is known
	Cores    int     `json:"cores"`             // of the processor
	Command  string  `json:"command"`           // the command line
	Label    string  `json:"label,omitempty"`   // what the person noted, as --label gave it
	// Trip says why the interlock ended the run; absent: it did not.
	Trip *Trip `json:"trip,omitempty"`
	// Found says what an earlier run had left on the lines, which were made safe before this
	// one; absent: nothing.
	Found string `json:"found,omitempty"`
	// InterlockStoodMS is the longest time in ms beyond 20 ms for which the interlock itself stood
	// still and could not have tripped; absent: it never did.
	InterlockStoodMS float64 `json:"interlock_stood_ms,omitempty"`
	// Denied says what the operating system did not grant to what played in real time, as its priority or
	// memory kept in RAM, each with the remedy; absent: nothing.
	Denied []string `json:"refused,omitempty"`
	// Missing says what of the record could not be written.
	Missing []string `json:"lacks,omitempty"`
}

// Trip is what had the interlock end a run.
type Trip struct {
	Why string `json:"why"` // in a sentence
	At  string `json:"at"`  // RFC 3339
}
