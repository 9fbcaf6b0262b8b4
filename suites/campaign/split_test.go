package campaign

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
)

// partOf returns a part of two, with one fault of two.
func partOf(number int, change func(*Faults)) *Faults {
	f := Fault{Seeded: Seeded{Board: "built-in", Name: fmt.Sprint("f", number)}, Verdict: Found, Checks: 1}
	a := &Faults{Boards: []Healthy{{"built-in", record.Go}}, Faults: []Fault{f}, Part: &Part{Number: number, Of: 2, Program: "1", Inputs: "x", All: []string{"built-in:f1", "built-in:f2"}}}
	change(a)
	a.seal()
	return a
}

func TestPartsOfFaultsAreJoinedOrRefused(t *testing.T) {
	same := func(*Faults) {}
	for _, test := range []struct {
		name          string
		first, second *Faults
		spoil         bool // whether the second says that its fault was found, once it is sealed
		want          string
	}{
		{"whole", partOf(1, same), partOf(2, same), false, ""},
		{"doubled", partOf(1, same), partOf(1, same), false, "both part 1 of 2"},
		{"another program", partOf(1, same), partOf(2, func(a *Faults) { a.Part.Program = "2" }), false, "the version of hilrig"},
		{"other files", partOf(1, same), partOf(2, func(a *Faults) { a.Part.Inputs = "y" }), false, "files, boards or seed"},
		{"another good board", partOf(1, same), partOf(2, func(a *Faults) { a.Boards[0].Outcome = record.NoGo }), false, "without a fault"},
		{"stopped", partOf(1, same), partOf(2, func(a *Faults) { a.Faults[0].Verdict = record.NotRun }), false, "did not end"},
		{"without its fault", partOf(1, same), partOf(2, func(a *Faults) { a.Faults = nil }), false, "no part has the fault built-in:f2"},
		{"tampered", partOf(1, same), partOf(2, func(a *Faults) { a.Faults[0].Verdict = NotFound }), true, "is not what its digest says"},
	} {
		t.Run(test.name, func(t *testing.T) {
			files := map[string]*Faults{"1": test.first, "2": test.second}
			joined, err := JoinFaults([]string{"2", "1"}, func(path string) ([]byte, error) {
				a := *files[path]
				if path == "2" && test.spoil {
					a.Faults = []Fault{a.Faults[0]}
					a.Faults[0].Verdict = Found
				}
				return json.Marshal(&a)
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
