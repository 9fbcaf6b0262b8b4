package record

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/schematest"
)

// The sample has every key that a result may have; which schema is the result's own, a test of the command line holds.
func TestResultsAreAsTheirSchemaSays(t *testing.T) {
	schema, err := os.ReadFile("result.schema.json")
	require.NoError(t, err)
	r := sample()
	r.Seal()
	assert.Empty(t, schematest.Against(schema, r.JSON()))

	var whole map[string]any
	require.NoError(t, json.Unmarshal(r.JSON(), &whole))
	whole["suites"].([]any)[0].(map[string]any)["shoes"] = 2
	delete(whole, "outcome")
	whole["seed"] = "one"
	changed, err := json.Marshal(whole)
	require.NoError(t, err)
	assert.Equal(t, []string{"it lacks outcome", "it.seed is of kind string and not integer", "it.suites[0].shoes is not in the schema"}, schematest.Against(schema, changed))
}
