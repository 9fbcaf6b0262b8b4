package file

import "hilrig/suites/language"

// samplerTable and playerTable declare how far a simulated bench is from a
// perfect one.
var samplerTable = language.NewTable("a sampler", "", []language.Key{
	{Name: "period", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ns", Most: "1 ms", Example: "175 ns", Doc: "from look to look at all lines; an edge is uncertain by two"},
	{Name: "stalls", Kind: language.Group, Table: stallsTable, Doc: "times in which it does not look; left out: none"},
})

var playerTable = language.NewTable("a player", "A case in which the rig played its wires later than a hundredth of the policy's response (100 us without one) is played again, up to twice, then undecided; trials that this touches are left out, and a quarter more are played.", []language.Key{
	{Name: "stalls", Kind: language.Group, Required: true, Table: stallsTable, Doc: "times in which nothing is played; what was due follows late"},
})

var stallsTable = language.NewTable("stalls", "They come at random, drawn from the seed.", []language.Key{
	{Name: "every", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "10 min", Example: "20 ms", Doc: "from one to the next, on average; spread evenly up to twice that"},
	{Name: "least", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 us", Most: "1 s", Example: "50 us", Doc: "the shortest"},
	{Name: "most", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 us", Most: "1 s", Example: "300 us", Doc: "the longest; lengths are spread evenly"},
})
