package page

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"

	"hilrig/assertions"
	"hilrig/plant"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/plots"
)

// Replays says whether any case is worth being played again for the page.
func (p *Page) Replays() bool {
	return slices.ContainsFunc(p.failures(), (*failure).replays)
}

// Wants says whether a case is worth being played again for the page.
func (p *Page) Wants(suite, index int) bool {
	return slices.ContainsFunc(p.failures(), func(f *failure) bool { return f.replays() && f.place == (place{suite, index}) })
}

// replays says whether the moment of a failure is worth being had again.
func (f *failure) replays() bool { return f.turn < mostReplayed && f.shown != nil }

// Take takes what a case showed that was played again. Nothing of e is kept.
func (p *Page) Take(suite, index int, e *assertions.Evidence) {
	for _, f := range p.failures() {
		if f.replays() && f.place == (place{suite, index}) {
			f.close, f.from = report.MomentOf(e, f.shown), "Played again from the record's own files"
		}
	}
}

// NotReplayed tells that cases could not be played again, and why. What was had again before is left
// out too: it is of a run that differs.
func (p *Page) NotReplayed(why error) {
	for _, f := range p.failures() {
		f.close = nil
	}
	p.notReplayed = why.Error()
}

// takeKept takes of a run in real time, which cannot be played again, what the record keeps of its moments.
func (p *Page) takeKept() {
	if p.of.Folder == "" || p.of.Result.Real == "" {
		return
	}
	for _, f := range p.failures() {
		if !f.replays() {
			continue
		}
		all, err := record.Moments(p.of.Folder, f.place.suite, f.place.index)
		at := slices.IndexFunc(all, func(m record.Moment) bool { return m.AtNS == f.shown.AtNS && m.Step == f.shown.Step })
		switch {
		case errors.Is(err, fs.ErrNotExist) && !record.KeepsMoments(p.of.Folder):
			f.lacks = "Frame by frame the record keeps nothing of it: an earlier version of hilrig made it."
		case err != nil:
			f.lacks = "What the record keeps of it frame by frame cannot be read: " + err.Error() + "."
		case at < 0:
			f.lacks = fmt.Sprintf("Frame by frame the record keeps nothing of it: of a case in real time it keeps the first %d moments at which checks failed and the first %d at which they stayed open, and none of a case too long for all of its trace.", record.MostFailed, record.MostOpen)
		default:
			f.close, f.from = &all[at], "As it was captured in the run"
		}
	}
}

// closeUp pictures what is known of a moment frame by frame; from says where it is from.
func closeUp(m *record.Moment, k *record.Check, from string) *pictured {
	p := &pictured{Picture: plots.Picture{Marks: []plots.Mark{{Name: markName(k), At: seconds(m.AtNS)}}, From: seconds(m.FromNS), To: seconds(m.ToNS)}}
	judged := m.FromNS
	if m.Measured != nil {
		judged = max(judged, m.Measured.FromNS)
		p.span("measured: ", m.Measured)
	}
	for i := range m.Faults {
		p.span("", &m.Faults[i])
	}
	var held []string
	for _, ch := range report.MomentChannels {
		values := m.Played[ch.String()]
		if len(values) == 0 {
			continue
		}
		times := make([]float64, len(values))
		for i := range times {
			times[i] = seconds(m.FromNS + int64(i)*m.StrideNS)
		}
		held = p.played(ch, times, values, held)
	}
	wheel, of := wheelOf(k)
	missing := 0
	for w := range plant.Wheels {
		p.Panels = append(p.Panels, framesOf(m, w))
		missing += m.Motors[w].LeftOut
		if of && plant.Wheels[w] == wheel {
			panel := &p.Panels[len(p.Panels)-1]
			base, _ := baselineOf(m, w)
			panel.Levels = nil
			judge(panel, k, base, seconds(judged), p.To)
		}
	}
	p.says = from + "; each mark is a frame, where it was known. " + legend(p.Panels) + heldWords(held)
	if missing > 0 {
		p.says += fmt.Sprintf(" The last %s are left out.", report.Count(missing, "frame"))
	}
	return p
}
