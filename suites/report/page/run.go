package page

import (
	"fmt"
	"strconv"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// runView is what the page says of the run itself.
type runView struct {
	Timing   []timingView
	Inputs   []inputView
	Facts    []fact
	Guessed  []record.Note
	NotAsked []record.Note
	Left     []string // left out, substituted and the like, a sentence each
	Again    string   // why cases could not be played again
}

// timingView is how well the rig kept time in a suite.
type timingView struct{ Suite, Late, Gaps, LeftOut, Again string }

// inputView is one of the files that were run.
type inputView struct{ Role, Name, File, Digest string }

// run returns what the page says of the run itself.
func (p *Page) run() *runView {
	r, h := p.of.Result, &p.of.Host
	v := &runView{Guessed: r.Guessed, NotAsked: r.NotAsked}
	for i := range r.Suites {
		if t := r.Suites[i].Timing; t != nil {
			v.Timing = append(v.Timing, timingOf(r.Suites[i].Name, t))
		}
	}
	for _, in := range []struct {
		role string
		of   record.Source
	}{{"car", r.Car}, {"bench", r.Bench}, {"board", r.Board}} {
		if in.of != (record.Source{}) {
			v.Inputs = append(v.Inputs, inputView{in.role, in.of.Name, in.of.File, in.of.Digest})
		}
	}
	for i := range r.Suites {
		v.Inputs = append(v.Inputs, inputView{Role: "suite", Name: r.Suites[i].Name, File: r.Suites[i].File})
	}
	add := func(name, text string) {
		if text != "" {
			v.Facts = append(v.Facts, fact{name, text})
		}
	}
	add("label", r.Label)
	add("firmware", r.Firmware)
	add("seed", strconv.FormatUint(r.Seed, 10))
	add("loop's delay", r.Delay)
	add("bench played on", r.Real)
	if h.DrivingS > 0 {
		add("driven", fmt.Sprintf("%.1f s in %.1f s", h.DrivingS, h.WallS))
	}
	add("began", h.Began)
	add("program", h.Program)
	add("system", h.System)
	add("machine", h.Machine)
	add("command", h.Command)
	if len(p.of.Wrong()) == 0 {
		add("digest of the result", r.Digest)
	}
	add("kept in", p.of.Folder)
	v.Left = p.left()
	if p.notReplayed != "" {
		v.Again = "Cases could not be played again as they were, so that moments are plotted by what the record keeps: " + p.notReplayed
	}
	return v
}

// timingOf writes how well the rig kept time.
func timingOf(suite string, t *record.Timing) timingView {
	ns := func(x int64) string { return signal.Time(x).Short() }
	v := timingView{Suite: suite, Late: "none", Gaps: "no edge captured", LeftOut: "nothing", Again: strconv.Itoa(t.Again)}
	if t.Late > 0 {
		v.Late = fmt.Sprintf("%d by more than %s, the worst by %s", t.Late, ns(t.LateFloorNS), ns(t.LatestNS))
	}
	if t.Edges > 0 {
		v.Gaps = fmt.Sprintf("%s; 95 %% %s, 99 %% %s, longest %s", ns(t.MedianGapNS), ns(t.Gap95NS), ns(t.Gap99NS), ns(t.LongestGapNS))
	}
	if t.Uncertain > 0 || t.LeftOut > 0 {
		v.LeftOut = fmt.Sprintf("%s, %d readings", report.Count(int(t.Uncertain), "command"), t.LeftOut)
	}
	if t.Settled > 0 {
		v.LeftOut += fmt.Sprintf("; %s settled by CRC", report.Count(int(t.Settled), "command"))
	}
	return v
}

// left tells what was substituted, left out or odd.
func (p *Page) left() (all []string) {
	r := p.of.Result
	for _, s := range r.Substituted {
		all = append(all, "Substituted, not from the car's own source: "+s+".")
	}
	if r.Rests != "" {
		all = append(all, "The outcome rests on "+r.Rests+".")
	}
	if r.Fresh {
		all = append(all, "The board was restarted before every case.")
	}
	for i := range r.Suites {
		_, unplayed := report.Groups(&r.Suites[i])
		for _, u := range unplayed {
			all = append(all, fmt.Sprintf("%s: %s, %s.", r.Suites[i].Name, report.Count(u.Cases, "case"), u.Reason))
		}
	}
	for _, e := range r.Events {
		all = append(all, fmt.Sprintf("%s, at %.3f s: %s.", e.Place, float64(e.AtNS)/1e9, e.Text))
	}
	return all
}

// number writes a count.
func number(n int) string { return strconv.Itoa(n) }
