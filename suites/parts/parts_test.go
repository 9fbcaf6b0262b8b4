package parts_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/parts"
	"hilrig/suites/record"
)

func TestPartsAreReadAsTheyAreWritten(t *testing.T) {
	got, err := parts.ParseShard("2/8")
	require.NoError(t, err)
	assert.Equal(t, parts.Shard{Number: 2, Of: 8}, got)
	for _, text := range []string{"", "2", "0/8", "9/8", "2/0", "-1/8", "2/8/3", "2 of 8", "1/1001"} {
		_, err := parts.ParseShard(text)
		assert.ErrorContains(t, err, "is no part", text)
	}
	all, err := parts.ParseSplit("", "1")
	require.NoError(t, err)
	assert.Equal(t, parts.Split{Program: "1"}, all)
	_, err = parts.ParseSplit("3/2", "1")
	assert.ErrorContains(t, err, "is no part")
}

// work is a document of parts.
type work struct {
	Part    *parts.Head `json:"part"`
	Outcome string      `json:"outcome"`
	Rule    string      `json:"rule"`
	Found   int         `json:"found"`
}

func (w *work) Head() *parts.Head { return w.Part }
func (w *work) Ended() string     { return w.Outcome }

// written returns part k of n, changed before it is sealed.
func written(k, n int, change func(*work)) string {
	head := parts.Split{Shard: parts.Shard{Number: k, Of: n}, Program: "1"}.Head("files")
	w := &work{Part: &head, Outcome: record.PartEnded, Rule: "all", Found: k}
	if change != nil {
		change(w)
	}
	parts.Seal(w)
	data, err := json.MarshalIndent(w, "", "  ")
	if err != nil {
		panic(err)
	}
	return string(data)
}

// readAll reads these documents by the names a, b, c.
func readAll(documents ...string) ([]*work, error) {
	var paths []string
	for i := range documents {
		paths = append(paths, string(rune('a'+i)))
	}
	return parts.Read(paths, func(path string) ([]byte, error) {
		return []byte(documents[path[0]-'a']), nil
	}, "hilrig faults", func(a, b *work) string {
		if a.Rule != b.Rule {
			return "the rule"
		}
		return ""
	})
}

func TestPartsOfOneWorkAreReadInWhateverOrder(t *testing.T) {
	all, err := readAll(written(3, 3, nil), written(1, 3, nil), written(2, 3, nil))
	require.NoError(t, err)
	require.Len(t, all, 3)
	assert.Equal(t, []int{3, 1, 2}, []int{all[0].Found, all[1].Found, all[2].Found})
}

func TestPartsThatDoNotFitAreRefused(t *testing.T) {
	one := written(1, 2, nil)
	for _, row := range []struct {
		name, two, want string
	}{
		{"the same", one, "a and b are both part 1 of 2; leave one out"},
		{"of more", written(2, 3, nil), "the number of parts, 2 and 3"},
		{"another program", written(2, 2, func(w *work) { w.Part.Program = "2" }), "the version of hilrig, 1 and 2"},
		{"other files", written(2, 2, func(w *work) { w.Part.Inputs = "others" }), "differ in files, boards, seed or length"},
		{"another rule", written(2, 2, func(w *work) { w.Rule = "some" }), "differ in the rule"},
		{"stopped", written(2, 2, func(w *work) { w.Outcome = record.NotShown }), "b did not end; play part 2 of 2 again"},
		{"changed", strings.Replace(written(2, 2, nil), `"found": 2`, `"found": 9`, 1), "b is not what its digest says"},
		{"followed by something", written(2, 2, nil) + "{}", "b is not what its digest says"},
		{"the whole", `{"outcome": "GO"}`, "b is no part but the whole"},
		{"something else", `{"speed": 1}`, "b is no part: "},
		{"no JSON", "part", "write it with hilrig faults --shard 2/8 --json"},
	} {
		_, err := readAll(one, row.two)
		assert.ErrorContains(t, err, row.want, row.name)
	}
	_, err := readAll()
	assert.ErrorContains(t, err, "name the files of the parts")
	_, err = readAll(one)
	assert.ErrorContains(t, err, "part 2 of 2 is missing; play it with --shard 2/2")
	_, err = parts.Read([]string{"nowhere"}, func(path string) ([]byte, error) { return nil, fmt.Errorf("no file %s", path) }, "hilrig faults",
		func(a, b *work) string { return cmp.Or(a.Rule, b.Rule) })
	assert.ErrorContains(t, err, "no file nowhere")
}
