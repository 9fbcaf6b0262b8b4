package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// Unasked returns what a suite of the owner's own expects of the policy and will not be told:
// a situation that is not that of its step, a fault that is not played, a shift too small to
// count as one, a key that the policy does not have. Such a check stays undecided, or asks
// nothing, whatever the board does. Of a suite for cars with any policy there is nothing to
// say: it lists what it does not ask.
func Unasked(s *Suite, car *Car, bench *Bench) language.Problems {
	if s.AnyPolicy {
		return nil
	}
	p := newSuiteChecker(s, car, bench)
	for i := 0; i < len(s.Cases); {
		from := i
		for i < len(s.Cases) && s.Cases[i].Place == s.Cases[from].Place {
			i++
		}
		p.unasked(s.Cases[from:i])
	}
	return p.told()
}

// unasked looks at all variants of one case. What one of them cannot show is reported; what
// is not asked only where it is in none.
func (p *suiteChecker) unasked(variants []Case) {
	for i := range variants[0].Expect {
		asked, why := false, ""
		for j := range variants {
			c := &variants[j]
			check, ok := c.Expect[i].Check.(assertions.PolicyBranch)
			if !ok {
				asked = true
				break
			}
			for _, one := range c.Planned(i, p.car, p.bench) {
				switch {
				case one.Asked && one.Why != "":
					p.cannotShow(c, &c.Expect[i], one.Why)
					asked = true
				case one.Asked:
					asked = true
				default:
					why = one.Why
				}
			}
			if !asked {
				continue
			}
			if s, ok := c.meant(p.car, p.bench).Step(check.Step); ok {
				if why := missingFor(check.Of, s, &p.car.Policy); why != "" {
					p.cannotShow(c, &c.Expect[i], why)
				}
			}
		}
		if !asked {
			p.notAsked(&variants[0], &variants[0].Expect[i], why)
		}
	}
}

// Planned returns what the case's i-th expectation will say something of, with a car and a bench, whatever the
// board does; nothing for one that is not of the policy.
func (c *Case) Planned(i int, car *Car, bench *Bench) []assertions.Planned {
	check, ok := c.Expect[i].Check.(assertions.PolicyBranch)
	if !ok || c.Expect[i].NotAsked != "" {
		return nil
	}
	return assertions.Plan(check, c.meant(car, bench))
}

// cannotShow reports an expectation that the case as it is written cannot show.
func (p *suiteChecker) cannotShow(c *Case, x *Expectation, why string) {
	why, remedy := split(why)
	p.at(x.Place, language.Mistake, fmt.Sprintf("%s cannot be shown in case %q: %s", said(x), language.Brief(c.Name), why), remedy)
}

// split parts what is wrong from its remedy.
func split(why string) (wrong, remedy string) {
	if i := strings.LastIndex(why, "; "); i >= 0 {
		return why[:i], why[i+2:]
	}
	return why, ""
}

// said returns an expectation of the policy as it is written: "policy: cap".
func said(x *Expectation) string {
	check, _ := x.Check.(assertions.PolicyBranch)
	return "policy: " + check.Of
}

// notAsked reports an expectation by which no variant of the case is asked anything.
func (p *suiteChecker) notAsked(c *Case, x *Expectation, why string) {
	missing, ok := strings.CutPrefix(why, "the policy has no ")
	if !ok {
		why, remedy := split(why)
		p.at(x.Place, language.Mistake, fmt.Sprintf("%s asks nothing in case %q: %s", said(x), language.Brief(c.Name), why), remedy)
		return
	}
	path := p.car.Source.Path
	remedy := "declare it there, or leave the expectation out"
	if k := PolicyTable.Key(strings.FieldsFunc(missing, func(r rune) bool { return r == ' ' || r == ',' })[0]); k != nil {
		remedy = fmt.Sprintf("add %s: %s to the policy there, or leave the expectation out", k.Name, k.Sample())
	}
	p.at(x.Place, language.Mistake, fmt.Sprintf("%s asks nothing: the policy in %s has no %s", said(x), path, missing), remedy)
}

// ofFaults are the situations in which something is wrong with a wire.
var ofFaults = []string{
	"throttle_lost", "steer_lost", "gain_lost", "receiver_lost", "receiver_flag",
	"yaw_lost", "yaw_frozen", "sequence_frozen", "encoder_lost", "bad_checksum", "bad_pulse", "spike",
}

// missingFor says what a step would need to be that of a situation, and how to give it; "" where
// it has it.
func missingFor(of string, s *assertions.Step, policy *law.Policy) string {
	held := !s.Moving && !s.Swept && len(s.Changes) == 0
	switch {
	case slices.Contains(ofFaults, of) && len(s.Faults) == 0:
		return fmt.Sprintf("step %q plays no fault; add faults: to it, or name the step that has them", s.Name)
	case of == "on_demand" && policy.Demand != nil && s.YawRate != s.Demand && held:
		return fmt.Sprintf("the yaw rate of step %q, %s, is not the demand, %s; write yaw_rate: 100 %% of demand", s.Name, language.AngularRate.Format(s.YawRate), language.AngularRate.Format(s.Demand))
	case of == "follows" && !s.Moving:
		return fmt.Sprintf("nothing moves in step %q; replay a drive log", s.Name)
	}
	return ""
}
