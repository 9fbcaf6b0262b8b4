package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/suites/language"
)

// samplerTable and edgeOutputTable declare how far a simulated bench is from a
// perfect one.
var samplerTable = language.NewTable("a sampler", "", []language.Key{
	{Name: "period", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ns", Most: "1 ms", Example: "175 ns", Doc: "from look to look at all lines; an edge is uncertain by two"},
	{Name: "stalls", Kind: language.Group, Table: stallsTable, Doc: "times in which it does not look; left out: none"},
})

var edgeOutputTable = language.NewTable("a player", "A case in which the rig played its wires later than a hundredth of the policy's response (100 us without one) is played again, up to twice, then undecided; trials that this touches are left out, and a quarter more are played.", []language.Key{
	{Name: "stalls", Kind: language.Group, Required: true, Table: stallsTable, Doc: "times in which nothing is played; what was due follows late"},
})

var stallsTable = language.NewTable("stalls", "They come at random, drawn from the seed.", []language.Key{
	{Name: "every", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "10 min", Example: "20 ms", Doc: "from one to the next, on average; spread evenly up to twice that"},
	{Name: "least", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 us", Most: "1 s", Example: "50 us", Doc: "the shortest"},
	{Name: "most", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 us", Most: "1 s", Example: "300 us", Doc: "the longest; lengths are spread evenly"},
})

// TimingModel is how far a simulated bench is from a perfect one, which sees every edge at
// its true time and plays every edge when it is due; so does the zero value.
type TimingModel struct {
	SamplerPeriod    signal.Time // from look to look at all lines; 0: perfect
	SamplerStalls    Stalls
	EdgeOutputStalls Stalls
}

// Stalls are times in which nothing is done, at random. Their zero value is none.
type Stalls struct {
	Every       signal.Time // from one to the next, on average; 0: none
	Least, Most signal.Time // their length
}

// Perfect says that the bench plays and reads every edge when it comes.
func (t TimingModel) Perfect() bool { return t.SamplerPeriod == 0 && t.EdgeOutputStalls.Every == 0 }

// timingModel reads how far a bench, whose file is v, is from a perfect one.
func (r *reader) timingModel(v *language.Mapping) TimingModel {
	sampler := v.Sub("sampler")
	return TimingModel{
		SamplerPeriod: sampler.Time("period"), SamplerStalls: r.stalls(sampler.Sub("stalls")),
		EdgeOutputStalls: r.stalls(v.Sub("player").Sub("stalls")),
	}
}

func (r *reader) stalls(v *language.Mapping) Stalls {
	s := Stalls{Every: v.Time("every"), Least: v.Time("least"), Most: v.Time("most")}
	if v.Has("least") && v.Has("most") && s.Least > s.Most {
		r.Report(v.Get("most").Node, fmt.Sprintf("stalls: the longest, %s, is shorter than the shortest, %s", span(s.Most), span(s.Least)), "give a larger most or a smaller least")
	}
	return s
}
