package compare

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
)

// What passes with less room is listed, each check once by the case that kept the least share of it; what fails, what
// has no limit and what differs within what both leave open is not.
func TestMarginsThatShrinkAreListed(t *testing.T) {
	named := func(name string, x float64) record.Check {
		return with(shift(x), func(k *record.Check) { k.Name = name })
	}
	open := func(k *record.Check) { k.LimitLow, k.LimitHigh = nil, nil }
	before := []record.Check{named("front", 8), named("front", 3), named("rear", 8), named("rear", 8), named("fails", 8), with(named("open", 8), open), named("more", 5), named("still", 8)}
	after := []record.Check{
		named("front", 7), named("front", 1.3), named("rear", 6), named("rear", 4),
		with(named("fails", 0.5), func(k *record.Check) { k.Verdict = record.Fail }), with(named("open", 4), open), named("more", 6), named("still", 7.99),
	}
	c := Of(run(1, before...), run(1, after...), nothingRead)
	var got []string
	for _, s := range c.Shrinking() {
		got = append(got, s.Of()+" in "+s.Where()+": "+s.Room())
	}
	require.Equal(t, []string{"front in one: case 1, hold: 1.97 → 0.27 %", "rear in one: case 3, hold: 6.97 → 2.97 %"}, got)
	assert.Equal(t, 1, c.Shrinking()[1].More)
	var text bytes.Buffer
	c.Text(&text, false)
	assert.Contains(t, text.String(), "these pass with less room than before:\n    least room 1.97 → 0.27 %  one: case 1, hold; front; and 1 more of the suite\n")

	var many []record.Check
	for _, name := range []string{"a", "b", "c", "d", "e", "f", "g"} {
		many = append(many, named(name, 8))
	}
	fewer := append([]record.Check{}, many...)
	for i := range fewer {
		fewer[i] = named(fewer[i].Name, 6-0.1*float64(i))
	}
	few := Of(run(1, many...), run(1, fewer...), nothingRead).Shrinking()
	require.Len(t, few, mostShrinking)
	assert.Equal(t, "g", few[0].Check)
}
