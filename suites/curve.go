package suites

import (
	"context"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// measuresCurve says whether a case is there to measure what the motors are commanded over the throttle.
func measuresCurve(c *file.Case) bool {
	return slices.ContainsFunc(c.Expect, func(x file.Expectation) bool {
		branch, ok := x.Check.(assertions.PolicyBranch)
		return ok && branch.Of == "throttle_curve" && x.NotAsked == ""
	})
}

// curveCase returns the case of the signs of life that measures the curve; nil where the policy needs none,
// and where none is played.
func (s *Setup) curveCase() *file.Case {
	if s.life == nil {
		return nil
	}
	i := slices.IndexFunc(s.life.Cases, func(c file.Case) bool { return measuresCurve(&c) })
	if i < 0 || s.skipReason(&s.life.Cases[i]) != "" {
		return nil
	}
	return &s.life.Cases[i]
}

// foreseeCurve notes why the curve will not be measured, where that is so.
func (s *Setup) foreseeCurve() {
	if s.Car.Policy.ThrottleCurve == law.ThrottleCurveCalibrated && s.curveCase() == nil {
		s.noCurve = "what the motors are commanded over the throttle, which the policy calls calibrated, is not measured in this run"
	}
}

// judgedBy returns the curve that checks go by, and why there is none.
func (s *Setup) judgedBy() (*law.Curve, string) {
	if s.Car.Policy.ThrottleCurve != law.ThrottleCurveCalibrated {
		return nil, ""
	}
	return s.curve, s.noCurve
}

// measureCurve plays the signs of life before everything else where they measure the curve, and fits all other suites
// to it. It returns the number of the suite that it played, -1 where there is nothing to measure.
func (r *run) measureCurve(ctx context.Context, failures []error) int {
	s := r.setup
	i := slices.Index(s.Suites, s.life)
	if i < 0 || s.curveCase() == nil {
		return -1
	}
	if failures[i] = r.suite(ctx, i); failures[i] == nil {
		r.setup, failures[i] = s.fitted(r.curve)
		r.total = r.setup.Planned(r.options)
	}
	return i
}

// fitted returns the setup with its suites fitted to the measured curve; without one, to none.
func (s *Setup) fitted(curve *law.Curve) (*Setup, error) {
	out := *s
	if out.curve = curve; curve == nil {
		out.noCurve = "what the motors are commanded over the throttle could not be measured as the run began"
		return &out, nil
	}
	out.Suites = slices.Clone(s.Suites)
	for i, suite := range s.Suites {
		if suite == s.life {
			continue
		}
		var err error
		if out.Suites[i], err = file.ParseSuiteWith(suite.Source, file.SuiteOptions{Car: s.Car, Bench: s.Bench, Read: s.read, Curve: curve}); err != nil {
			return s, err
		}
	}
	fresh := out // the signs of life were fitted before
	fresh.Suites = slices.DeleteFunc(slices.Clone(out.Suites), func(x *file.Suite) bool { return x == s.life })
	if !fresh.perfect() {
		fresh.giveSpares()
	}
	fresh.spaceTrials()
	return &out, nil
}

// fittedAgain returns the setup with its suites fitted to the curve that a recorded run measured: the case is played
// again, unless all that is wanted is of the signs of life themselves.
func (s *Setup) fittedAgain(ctx context.Context, r *record.Result, wanted int) (*Setup, error) {
	life := slices.Index(s.Suites, s.life)
	if life < 0 || life == wanted || s.curveCase() == nil {
		return s, nil
	}
	last := slices.IndexFunc(s.life.Cases, func(c file.Case) bool { return measuresCurve(&c) })
	var curve *law.Curve
	again := replay{setup: s, of: r, suite: life, last: last, after: func(ses *session, i int) error {
		if i == last {
			curve, _ = assertions.MeasureCurve(ses.judged)
		}
		return nil
	}}
	if err := again.play(ctx); err != nil {
		return nil, err
	}
	return s.fitted(curve)
}
