package page

import (
	"fmt"
	"slices"

	"hilrig/rig/interlock"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// top is what stands first.
type top struct {
	Wrong    []string // what is wrong with the record, a sentence each
	Lacks    []string // what of it could not be written
	Outcome  string
	Class    string
	Why      string
	Looks    []string // which seeded fault a NO-GO looks like
	Of       string   // car and board
	Facts    []fact
	Cautions []string
}

// fact is a name with what there is to say.
type fact struct{ Name, Text string }

// classes of verdicts and outcomes in the style sheet.
var classes = map[string]string{
	record.Pass: record.Pass, record.Fail: record.Fail, record.Undecided: "open", record.NotRun: "open", record.Skipped: "quiet", record.NotAsked: "quiet",
	record.Go: record.Pass, record.NoGo: record.Fail, record.NotShown: "open",
}

// class returns the class of a verdict or outcome.
func class(word string) string {
	if c := classes[word]; c != "" {
		return c
	}
	return "quiet"
}

// top returns what stands first.
func (p *Page) top() *top {
	r := p.of.Result
	t := &top{
		Wrong: p.of.Wrong(), Lacks: p.of.Host.Missing, Outcome: r.Outcome, Class: class(r.Outcome), Why: report.Summary(r),
		Of: r.Car.Name + ", " + r.Board.Name, Cautions: p.cautions(),
	}
	if report.OfStand(r) {
		t.Of = r.Bench.Name + ", " + r.Board.Name
	}
	if p.settings.Faults != nil {
		t.Looks = p.settings.Faults.Looks(r).Lines()
	}
	add := func(name, text string) {
		if text != "" {
			t.Facts = append(t.Facts, fact{name, text})
		}
	}
	add("car", named(r.Car))
	add("bench", named(r.Bench))
	add("board", named(r.Board))
	add("label", r.Label)
	if len(r.Firmware) >= 12 {
		add("firmware", r.Firmware[:12])
	}
	add("began", p.of.Host.Began)
	return t
}

// named writes an input with the file that it came from.
func named(s record.Source) string {
	if s.File == "" || s.Name == "" {
		return s.Name + s.File
	}
	return s.Name + " (" + s.File + ")"
}

// cautions returns what a person has to keep in mind of a run on a real bench.
func (p *Page) cautions() []string {
	r := p.of.Result
	if r.Real == "" {
		return nil
	}
	all := []string{"Played in real time on a bench: " + r.Real + "."}
	switch power, known := p.power(); {
	case !known:
		all = append(all, "How the motors were powered cannot be told from the record's bench file.")
	case power != interlock.SignalsOnly:
		all = append(all, fmt.Sprintf("The motors were powered (%s). Keep hands, hair and cables away from wheels and shafts, and cut the supply before touching anything.", power))
	}
	all = append(all, "This program is no safety device. An outcome says what these checks saw in this run; whether the car may be driven is for a person to say.")
	if t := p.of.Host.Trip; t != nil {
		all = append(all, fmt.Sprintf("The interlock ended the run at %s: %s.", t.At, t.Why))
	}
	if p.of.Host.Found != "" {
		all = append(all, "Found before the run: "+p.of.Host.Found+".")
	}
	for _, x := range p.of.Host.Denied {
		all = append(all, "The operating system did not grant what was asked for: "+x+".")
	}
	if ms := p.of.Host.InterlockStoodMS; ms > 0 {
		all = append(all, fmt.Sprintf("The interlock itself stood still for up to %s ms beyond 20 ms and could not have tripped meanwhile.", report.Fixed(ms, 1)))
	}
	return all
}

// power returns how the bench's motors were powered, by the record's own bench file.
func (p *Page) power() (power interlock.Power, known bool) {
	if p.of.Folder == "" {
		return 0, false
	}
	inputs, err := record.Inputs(p.of.Folder)
	if err != nil {
		return 0, false
	}
	i := slices.IndexFunc(inputs, func(in record.Input) bool { return in.Role == record.BenchInput })
	if i < 0 {
		return 0, false
	}
	bench, err := file.ParseBench(language.Source{Path: inputs[i].Path, Data: inputs[i].Data})
	if err != nil {
		return 0, false
	}
	return bench.Power, true
}
