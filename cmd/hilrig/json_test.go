package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/campaign"
	"hilrig/suites/live"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
	"hilrig/suites/schematest"
	"hilrig/suites/search"
)

// jsonForms are the forms of JSON that commands print: the type, the folders in which it and what it holds are
// declared, and the file that keeps its schema.
var jsonForms = map[string]struct {
	title   string
	value   any
	folders []string
}{
	"suites/record/result.schema.json":             {"the result of a run of hilrig, " + record.Format, record.Result{}, []string{"suites/record"}},
	"suites/list.schema.json":                      {"what hilrig list shows", suites.List{}, []string{"suites", "suites/record"}},
	"suites/rate.schema.json":                      {"what hilrig rate measured, in s and Hz", suites.RateJSON{}, []string{"suites"}},
	"suites/campaign/faults.schema.json":           {"what suites find of seeded faults", campaign.Faults{}, []string{"suites/campaign", "suites/parts"}},
	"suites/campaign/nulls.schema.json":            {"what suites let boards pass that control nothing", campaign.Nulls{}, []string{"suites/campaign", "suites/record"}},
	"suites/report/compare/comparison.schema.json": {"what changed from one record to another", compare.Comparison{}, []string{"suites/report/compare"}},
	"suites/search/search.schema.json":             {"what a search for failing drives came to", search.Result{}, []string{"suites/search", "suites/parts"}},
	"suites/live/timing.schema.json":               {"how well a machine keeps time, in s and Hz", live.TimedJSON{}, []string{"suites/live"}},
}

// top is the folder of the whole project, seen from here.
const top = "../.."

func TestTheSchemasAreThoseOfTheTypes(t *testing.T) {
	for path, form := range jsonForms {
		var folders []string
		for _, folder := range form.folders {
			folders = append(folders, filepath.Join(top, folder))
		}
		comments, err := schematest.CommentsOf(folders...)
		require.NoError(t, err)
		assert.Empty(t, schematest.Unsaid(form.value, comments), "%s: a comment at the field says what the key means", path)
		schema, err := schematest.Of(form.title, form.value, comments)
		require.NoError(t, err)
		if *update {
			require.NoError(t, os.WriteFile(filepath.Join(top, path), schema, 0o644))
		}
		kept, err := os.ReadFile(filepath.Join(top, path))
		require.NoError(t, err)
		assert.Equal(t, string(kept), string(schema), "go test ./cmd/hilrig -run TestTheSchemas -update writes %s anew", path)
	}
}

// jsonDocuments are commands that print JSON, each with the schema of that.
var jsonDocuments = []struct{ command, schema string }{
	{"list", "suites/list.schema.json"},
	{"list split losses", "suites/list.schema.json"},
	{"run RECORD/one.yaml --record RECORD/a", "suites/record/result.schema.json"},
	{"run RECORD/one.yaml --board built-in:yaw_sign --record RECORD/b", "suites/record/result.schema.json"},
	{"run RECORD/one.yaml --shard 1/1 --record none", "suites/record/result.schema.json"},
	{"report RECORD/b", "suites/record/result.schema.json"},
	{"compare RECORD/a RECORD/b", "suites/report/compare/comparison.schema.json"},
	{"compare RECORD/a RECORD/a", "suites/report/compare/comparison.schema.json"},
	{"rate", "suites/rate.schema.json"},
	{"rate --board null:silent", "suites/rate.schema.json"},
	{"faults RECORD/one.yaml --shard 1/8", "suites/campaign/faults.schema.json"},
	{"faults --null RECORD/one.yaml", "suites/campaign/nulls.schema.json"},
	{"search --drives 1 --shard 1/8", "suites/search/search.schema.json"},
	{"timing --bank memory --for 1s", "suites/live/timing.schema.json"},
	{"esc --record none", "suites/record/result.schema.json"},
}

func TestWhatCommandsPrintAsJSONIsAsTheirSchemasSay(t *testing.T) {
	records := t.TempDir()
	one := "suite: one\ndefaults: {speed: 3 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %}\ncases:\n  - case: turns too little\n" +
		"    hold: {yaw_rate: 70 % of demand}\n    expect: [{policy: understeer}, {policy: yaw_lost}]\n"
	require.NoError(t, os.WriteFile(filepath.Join(records, "one.yaml"), []byte(one), 0o600))
	for _, d := range jsonDocuments {
		t.Run(d.command, func(t *testing.T) {
			folder := func(name string) string {
				if kept, _ := filepath.Glob(filepath.Join(records, name, "*")); len(kept) == 1 {
					return kept[0]
				}
				return filepath.Join(records, name)
			}
			args := append(strings.Fields(strings.NewReplacer("RECORD/a", folder("a"), "RECORD/b", folder("b"), "RECORD/one.yaml", filepath.Join(records, "one.yaml")).Replace(d.command)), "--json")
			var out, log bytes.Buffer
			code := run(t.Context(), args, &out, &log)
			require.Contains(t, []int{exitGo, exitNoGo, exitNotShown}, code, log.String())
			schema, err := os.ReadFile(filepath.Join(top, d.schema))
			require.NoError(t, err)
			assert.Empty(t, schematest.Against(schema, out.Bytes()))
		})
	}
}

// Each command that can print JSON is among those above, and stands beside its schema in the guide.
func TestEachCommandWithJSONIsHeldToASchema(t *testing.T) {
	guide, err := os.ReadFile(filepath.Join(top, "suites/README.md"))
	require.NoError(t, err)
	var visit func(c *cobra.Command)
	visit = func(c *cobra.Command) {
		if c.Flags().Lookup("json") != nil {
			name := strings.TrimPrefix(c.CommandPath(), "hilrig ")
			i := slices.IndexFunc(jsonDocuments, func(d struct{ command, schema string }) bool {
				return d.command == name || strings.HasPrefix(d.command, name+" ")
			})
			if assert.GreaterOrEqual(t, i, 0, "hilrig %s --json is held to no schema", name) {
				path := strings.TrimPrefix(jsonDocuments[i].schema, "suites/")
				assert.Regexp(t, "(?m)^\\| .*`hilrig "+name+" --json`.*\\("+path+"\\)", string(guide))
			}
		}
		for _, sub := range c.Commands() {
			visit(sub)
		}
	}
	visit(newRoot())
	for _, d := range jsonDocuments {
		assert.Contains(t, jsonForms, d.schema)
	}
}
