package esc

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/assertions/characteristic"
	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/record"
)

// SuiteName is the suite of a record that a speed controller's figures stand in.
const SuiteName = "throttle"

// The variants of a case.
const (
	AsMeasured = "as measured"
	Constant   = "at constant voltage"
)

// Plan returns the result with all cases that a run has, none of them run.
func (s *Setup) Plan() *record.Result {
	r := &record.Result{
		Format: record.Format,
		Seed:   s.Seed,
		Bench:  record.Source{Name: s.Stand.Name, File: s.file(), Digest: sumOf(s.Stand.Source.Data)},
		Board:  record.Source{Name: s.boardName()},
		Delay:  rig.Delay,
	}
	if typed := s.Stand.Source.Path; typed != s.file() {
		r.Typed = map[string]string{s.file(): typed}
	}
	if s.Real != nil {
		r.Real = s.Real.Kind
	}
	suite := record.Suite{Name: SuiteName, About: s.Stand.About, File: s.file()}
	for i := range s.Stand.Held {
		h := &s.Stand.Held[i]
		for _, variant := range s.variants() {
			suite.Cases = append(suite.Cases, record.Case{Name: h.String(), Variant: variant, Line: h.Place.Line, Verdict: record.NotRun, Checks: []record.Check{}})
		}
	}
	r.Suites = []record.Suite{suite}
	return r
}

// file is what the result calls the stand file.
func (s *Setup) file() string { return suites.FileName(s.Stand.Source.Path) }

// variants returns those of each held condition.
func (s *Setup) variants() []string {
	if s.Stand.Supply.Voltage == nil || s.Stand.CSV != nil {
		return []string{AsMeasured}
	}
	return []string{AsMeasured, Constant}
}

// boardName says which controller is under test.
func (s *Setup) boardName() string {
	switch {
	case s.Stand.CSV != nil:
		return suites.FileName(s.Stand.CSV.Path)
	case s.Real != nil && !s.Real.Board:
		return suites.RealBoard
	case s.ESC == "":
		return linearESC
	}
	return s.ESC
}

func sumOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// outcome judges what was measured; err is what ended the run before its end, nil where nothing did.
func (r *run) outcome(err error) *Outcome {
	s := r.setup
	out := &Outcome{Result: s.Plan(), Driving: r.driving, AtRest: r.still && err == nil, RestSeen: r.seen}
	out.Result.Why = whyEnded(err)
	suite := &out.Result.Suites[0]
	variants := s.variants()
	for i := range r.sets {
		h := &r.sets[i]
		sets := []*characteristic.Set{h.set, h.constant}
		for j := range variants {
			c := &suite.Cases[i*len(variants)+j]
			set := sets[j]
			if set == nil {
				c.Why = whyNot(h, j == 0, out.Result.Why)
				if j > 0 && h.set != nil {
					c.Verdict = record.Skipped
				}
				continue
			}
			set.FineWhy = s.fineWhy(set)
			figures := characteristic.Judge(set, s.Stand.Limits, characteristic.Draws{Seed: s.Seed})
			leaveOpen(set, figures)
			table, notInvertible := characteristic.Correct(set)
			out.Sets, out.Figures, out.Tables = append(out.Sets, set), append(out.Figures, figures), append(out.Tables, table)
			out.NotInvertible = append(out.NotInvertible, text(notInvertible))
			if j == 0 {
				c.Notes = append(c.Notes, notRead(set)...)
			}
			c.Notes = append(c.Notes, aboutTable(table, notInvertible))
			c.Verdict, c.StartNS, c.LengthNS = "", int64(h.from), int64(h.to-h.from)
			c.Trace = sumOf(readingsOf(set))
			for k := range figures {
				c.Checks = append(c.Checks, check(&figures[k], s.file(), c.Line))
			}
		}
	}
	out.Events = r.events.list
	out.Result.Events = r.events.recorded()
	out.Result.Seal()
	return out
}

// aboutTable says what a correction table makes of the controller, or why there is none.
func aboutTable(t *characteristic.Table, notInvertible error) string {
	if notInvertible != nil {
		return notInvertible.Error()
	}
	return fmt.Sprintf("correction table of %d points; with it independent linearity is at most %s %%", len(t.In), signal.Digits(100*t.Residual.High, 2))
}

// leaveOpen leaves undecided what passes while a level has nothing but readings that cannot be trusted: nobody knows
// what is there.
func leaveOpen(set *characteristic.Set, figures []characteristic.Figure) {
	read, why := make([]bool, len(set.Levels)), make([]string, len(set.Levels))
	for i := range set.Readings {
		switch r := &set.Readings[i]; r.Status {
		case characteristic.Dropped:
			why[r.Level] = r.Why
		default:
			read[r.Level] = true
		}
	}
	level := -1
	for i := range read {
		if !read[i] && why[i] != "" {
			level = i
		}
	}
	if level < 0 {
		return
	}
	for i := range figures {
		f := &figures[i]
		switch f.Key {
		case characteristic.KeyStartThreshold, characteristic.KeyDelay, characteristic.KeyRiseTime:
			continue
		}
		if f.Asked() && f.Verdict == assertions.Pass {
			f.Verdict = assertions.Undecided
			f.Why = percent(set.Levels[level]) + " has no reading that can be trusted: " + why[level]
		}
	}
}

func text(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}

// whyNot says why a set is not there.
func whyNot(h *held, measured bool, ended string) string {
	switch {
	case !measured && h.why != "":
		return h.why
	case ended != "":
		return "the run ended before: " + ended
	}
	return record.DidNotEnd
}

// whyEnded says why a run did not end as it should.
func whyEnded(err error) string {
	switch {
	case err == nil:
		return ""
	case errors.Is(err, context.Canceled):
		return record.Stopped
	}
	return err.Error()
}

// largest are the figures that are the largest of something over all levels.
var largest = []string{
	characteristic.KeyIndependent, characteristic.KeyLeastSquares, characteristic.KeyTerminalBased, characteristic.KeyZeroBased,
	characteristic.KeyHysteresis, characteristic.KeyMonotone,
}

// check returns a figure as a record keeps it.
func check(f *characteristic.Figure, file string, line int) record.Check {
	c := record.Check{Name: f.Key, Verdict: string(f.Verdict), Why: f.Why, File: file, Line: line}
	if !f.Asked() && f.Verdict == assertions.Undecided {
		c.Verdict = record.NotAsked
	}
	if !f.Measured() {
		return c
	}
	if slices.Contains(largest, f.Key) && !math.IsNaN(f.At) {
		c.Why = strings.TrimSuffix("largest at "+share(f.At)+" %; "+c.Why, "; ")
	}
	scale := 1.0
	c.Quantity, c.Unit = f.Quantity, f.Unit
	switch {
	case f.Unit == "" && f.Key != characteristic.KeyFirstTenth:
		scale, c.Unit = 100, "%"
	case f.Unit == "s":
		scale, c.Unit = 1000, "ms"
	}
	number := func(x float64) *float64 { return record.Number(scale * x) }
	c.Estimate, c.Low, c.High = number(f.Estimate), number(f.Low), number(f.High)
	if f.Limit != nil {
		c.LimitLow, c.LimitHigh = number(f.Limit.Low), number(f.Limit.High)
		if f.Limit.Low == 0 && !math.Signbit(f.Estimate) {
			c.LimitLow = nil // of a share nothing is less
		}
	}
	return c
}
