package file

import (
	"fmt"
)

// mostCases is how many cases a suite may have once it is expanded.
const mostCases = 5000

// mostSteps is how many steps a case may have.
const mostSteps = 64

// ParseSuite reads a suite file and expands its cases: in the order of the
// file, those of one case in the order of its each lists, the last list fastest.
// car gives the demand where a yaw rate is written as a share of it. car and bench
// may be nil, where their own files were wrong: what depends on them is then
// left at 0. The error is of type [Problems].
func ParseSuite(s Source, car *Car, bench *Bench) (*Suite, error) {
	r := newReader(s)
	top := r.tree("suite")
	if top == nil {
		return nil, r.problems.sorted()
	}
	v := r.read(top, &SuiteTable)
	suite := &Suite{Source: s, Name: v.word("suite"), About: v.word("about")}
	names := map[string]int{}
	for _, c := range v.list("cases") {
		if c.bad {
			continue
		}
		b := &caseBuilder{reader: r, car: car, v: c.table, defaults: v.sub("defaults")}
		if n := c.table.get("case"); n != nil {
			if line, twice := names[n.word]; twice {
				r.problem(n.node, fmt.Sprintf("case %q stands twice, first on line %d", brief(n.word), line), "give it another name")
			} else {
				names[n.word] = n.node.line
			}
		}
		if room := mostCases - len(suite.Cases); b.combinations() > room {
			r.problem(c.node, fmt.Sprintf("the suite has more than %d cases once it is expanded", mostCases), "shorten the lists of each, or split the suite")
			break
		}
		suite.Cases = append(suite.Cases, b.cases()...)
	}
	if bench != nil && len(r.problems) == 0 {
		r.wires(v, suite, bench)
	}
	if len(r.problems) > 0 {
		return nil, r.problems.sorted()
	}
	return suite, nil
}

// wires reports what the bench has no wire for.
func (r *reader) wires(v *values, s *Suite, b *Bench) {
	for _, f := range b.Wiring.Frames {
		for _, x := range f.Fields {
			if x.Channel == "yaw_rate" {
				return
			}
		}
	}
	for i := range s.Cases {
		c := &s.Cases[i]
		for _, step := range c.Steps {
			if step.Values.YawRate != 0 {
				r.at(c.Place.Line, c.Place.Column, "", fmt.Sprintf("case %q plays a yaw rate, but bench %q sends none", brief(c.Name), brief(b.Name)),
					"add a field with channel: yaw_rate to the bench file")
				break
			}
		}
	}
}
