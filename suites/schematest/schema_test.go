package schematest

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// whole has a field of each kind that a schema tells apart.
type whole struct {
	base
	Name   string             `json:"name"` // what it is called
	Bare   *float64           `json:"bare"`
	Left   *float64           `json:"left,omitempty"`
	List   []part             `json:"list"`
	Three  [3]int             `json:"three"`
	Table  map[string]float64 `json:"table"`
	Hidden string             `json:"-"`
	unseen int
}

// base stands in another.
type base struct {
	Seed uint64 `json:"seed"`
}

// part holds itself.
type part struct {
	On    bool   `json:"on"`
	Parts []part `json:"parts,omitempty"`
}

// documents are what is right by the schema of whole, and what is wrong, with what is said of it.
var documents = []struct {
	text  string
	wrong []string
}{
	{`{"seed": 1, "name": "a", "bare": null, "list": null, "three": [1, 2, 3], "table": null}`, nil},
	{`{"seed": 1, "name": "a", "bare": 1.5, "left": 2, "list": [{"on": true, "parts": [{"on": false}]}], "three": [1, 2, 3], "table": {"x": 1}}`, nil},
	{`{"seed": -1, "name": null, "bare": "1", "list": [], "three": [1, 2], "table": {"x": "1"}}`,
		[]string{"it.bare is of kind string and not number", "it.name is of kind null and not string", "it.seed is below 0", "it.table.x is of kind string and not number", "it.three has 2 values and not 3"}},
	{`{"seed": 1.5, "name": "a", "bare": 1, "left": null, "list": [{"on": 1}, {"on": true, "parts": [{}]}], "three": [1, 2, "3"], "table": {}}`,
		[]string{"it.left is of kind null and not number", "it.list[0].on is of kind integer and not boolean", "it.list[1].parts[0] lacks on", "it.seed is of kind number and not integer", "it.three[2] is of kind string and not integer"}},
	{`{"seed": 1, "bare": 1, "list": [], "three": [1, 2, 3], "table": {}, "hidden": 1}`, []string{"it lacks name", "it.hidden is not in the schema"}},
	{`[]`, []string{"it is of kind array and not object"}},
	{`{`, []string{"the document cannot be read: unexpected end of JSON input"}},
}

func TestDocumentsAreHeldAgainstTheSchema(t *testing.T) {
	schema, err := Of("whole", whole{unseen: 1}, Comments{"schematest.whole.Name": "what it is called"})
	require.NoError(t, err)
	for _, d := range documents {
		assert.Equal(t, d.wrong, Against(schema, []byte(d.text)), d.text)
	}
	assert.Contains(t, string(schema), `"description": "what it is called"`)
}

// Who reads JSON finds keys in what is said of them, and no names of Go.
func TestWhatIsSaidNamesKeys(t *testing.T) {
	said := Comments{
		"schematest.whole": "whole is all of it, with Left and List.", "schematest.whole.Name": "Name says what Bare and Unknown are",
		"schematest.part": "part says no more; On is there.", "schematest.whole.Left": "Left is what List leaves.",
	}
	schema, err := Of("whole", whole{}, said)
	require.NoError(t, err)
	assert.Contains(t, string(schema), `"description": "All of it, with left and list."`)
	assert.Contains(t, string(schema), `"description": "name says what bare and Unknown are"`)
	assert.Contains(t, string(schema), `"description": "No more; on is there."`)
	assert.Contains(t, string(schema), `"description": "What list leaves."`)
	assert.Contains(t, Tables(whole{}, "##", said), "\nAll of it, with left and list.\n")
}

// What is right and wrong by a schema is so by a validator of another author, too.
func TestAnotherValidatorAgrees(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err == nil {
		err = exec.Command(python, "-c", "import jsonschema").Run()
	}
	if err != nil {
		t.Skip("python3 with jsonschema is not there: ", err)
	}
	schema, err := Of("whole", whole{}, nil)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "schema.json")
	require.NoError(t, os.WriteFile(path, schema, 0o600))
	for _, d := range documents {
		if !json.Valid([]byte(d.text)) {
			continue
		}
		code := "import json, sys, jsonschema\ns = json.load(open(sys.argv[1]))\njsonschema.Draft202012Validator.check_schema(s)\n" +
			"print(len(list(jsonschema.Draft202012Validator(s).iter_errors(json.loads(sys.argv[2])))))"
		out, err := exec.Command(python, "-c", code, path, d.text).Output()
		require.NoError(t, err)
		assert.Equal(t, len(d.wrong) == 0, string(out) == "0\n", "%s: %s errors", d.text, out)
	}
}

func TestCommentsAreThoseAtTheFields(t *testing.T) {
	c, err := CommentsOf(".")
	require.NoError(t, err)
	assert.Equal(t, "where it is empty", c["schematest.jsonField.omitted"])
	assert.Equal(t, "jsonField is a field that is written, under its key.", c["schematest.jsonField"])
	assert.Equal(t, []string{"schematest.base.Seed", "schematest.whole.Bare", "schematest.whole.Left", "schematest.whole.Three", "schematest.whole.Table", "schematest.part.On"},
		Unsaid(whole{}, Comments{"schematest.whole.Name": "x", "schematest.part": "y"}))
	assert.Equal(t, "### `part`\n\nHolds itself.\n\n| key | holds | always | meaning |\n|---|---|---|---|\n| `on` | true or false | yes | a \\| b |\n| `parts` | list: `part` |  | Holds itself. |\n\n",
		Tables(part{}, "###", Comments{"schematest.part": "Holds itself.", "schematest.part.On": "a | b"}))
}
