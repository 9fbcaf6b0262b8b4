package campaign

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/parts"
	"hilrig/suites/record"
)

// partOf returns a part of two, with one fault of two.
func partOf(number int, change func(*Faults)) *Faults {
	f := Fault{Seeded: Seeded{Board: "built-in", Name: fmt.Sprint("f", number)}, Verdict: Found, Checks: 1}
	a := &Faults{Boards: []Healthy{{"built-in", record.Go}}, Faults: []Fault{f}, Part: &Part{Head: parts.Head{Number: number, Of: 2, Program: "1", Inputs: "x"}, All: []string{"built-in:f1", "built-in:f2"}}}
	change(a)
	a.seal()
	return a
}

func TestPartsOfFaultsAreJoinedOrRefused(t *testing.T) {
	same := func(*Faults) {}
	for _, test := range []struct {
		name          string
		first, second *Faults
		want          string
	}{
		{"whole", partOf(1, same), partOf(2, same), ""},
		{"other faults", partOf(1, same), partOf(2, func(a *Faults) { a.Part.All = a.Part.All[1:] }), "the faults that are seeded"},
		{"stopped", partOf(1, same), partOf(2, func(a *Faults) { a.Faults[0].Verdict = record.NotRun }), "did not end"},
		{"another good board", partOf(1, same), partOf(2, func(a *Faults) { a.Boards[0].Outcome = record.NoGo }), "without a fault"},
		{"without its fault", partOf(1, same), partOf(2, func(a *Faults) { a.Faults = nil }), "no part has the fault built-in:f2"},
	} {
		t.Run(test.name, func(t *testing.T) {
			files := map[string]*Faults{"1": test.first, "2": test.second}
			joined, err := JoinFaults([]string{"2", "1"}, func(path string) ([]byte, error) {
				return json.Marshal(files[path])
			})
			if test.want != "" {
				require.ErrorContains(t, err, test.want)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, record.Go, joined.Outcome)
			assert.Equal(t, []string{"f1", "f2"}, []string{joined.Faults[0].Name, joined.Faults[1].Name})
			assert.Nil(t, joined.Part)
		})
	}
}
