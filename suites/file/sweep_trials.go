package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// sweepAndTrials are the keys that let one value move in a step.
var sweepAndTrials = []string{"sweep", "trials"}

// What trials are where the file does not say.
const (
	trialCount    = 200
	trialInterval = 60 * signal.Millisecond
)

// sweepOrTrials reads a step's sweep and trials. of gives, for a channel whose numbers
// are not taken as they stand, how they are.
func (b *caseBuilder) sweepOrTrials(s *Step, step *language.Mapping, of map[trace.Channel]func(*language.Value) float64) {
	if step.Written("sweep") && step.Written("trials") {
		b.Report(step.Node.Key("trials"), "the step has a sweep and trials", "give one of them, or two steps")
	}
	for _, how := range sweepAndTrials {
		v := step.Sub(how)
		c, ok := b.moved(how, v, step)
		if !ok {
			continue
		}
		si := of[c]
		if si == nil {
			si = func(x *language.Value) float64 { return x.Number }
		}
		pair := v.Get(c.String()).List
		first, second := si(&pair[0]), si(&pair[1])
		if first == second && (pair[0].Number == pair[1].Number || b.demandKnown(step) || !isShareOfDemand(v.Get(c.String()))) {
			b.Report(v.Get(c.String()).Node, fmt.Sprintf("%s: %s does not move", how, c), "give two different values")
		}
		if how == "sweep" {
			s.Sweep = &Sweep{Channel: c, From: first, To: second}
			continue
		}
		s.Trials = &Trials{
			Channel: c, Levels: [2]float64{first, second},
			Count: int(v.WholeOr("count", trialCount)), Interval: v.TimeOr("interval", trialInterval),
		}
		if step.Written("observe") {
			b.Report(step.Node.Key("observe"), "observe has no meaning for trials, which last as long as they need", "leave it out; give count and interval")
		}
	}
}

// demandKnown tells whether a share of the demand in a step comes to a number: where speed or steer angle are
// written wrong, that has been said.
func (b *caseBuilder) demandKnown(step *language.Mapping) bool {
	for _, name := range []string{"speed", "steer"} {
		if b.says(name, nil, step) && b.pick(name, nil, step) == nil {
			return false
		}
	}
	return b.car != nil
}

// moved returns the one channel of a sweep or of trials, and reports none, more
// than one, and one that the step holds as well.
func (b *caseBuilder) moved(how string, v, step *language.Mapping) (c trace.Channel, ok bool) {
	if v == nil {
		return 0, false
	}
	var names []string
	for i := range stimulusKeys {
		if name := stimulusKeys[i].Name; v.Written(name) {
			names = append(names, name)
		}
	}
	if len(names) != 1 {
		b.Report(v.Node, fmt.Sprintf("%s moves %d values", how, len(names)), "name exactly one, like yaw_rate: [50 % of demand, 150 % of demand]")
		return 0, false
	}
	if step.Written(names[0]) {
		b.Report(step.Node.Key(names[0]), fmt.Sprintf("%s is held and stands in %s as well", names[0], how), "leave it out; the step begins with the first of "+how)
	}
	c, _ = trace.ChannelNamed(names[0])
	return c, v.Has(names[0])
}
