package record

import (
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/language"
)

var update = flag.Bool("update", false, "write the schema anew")

// schemaPath is where the schema of what hilrig run --json prints is kept.
const schemaPath = "result.schema.json"

func TestTheSchemaIsThatOfTheResult(t *testing.T) {
	schema := language.SchemaOf("the result of a run of hilrig, "+Format, Result{})
	if *update {
		require.NoError(t, os.WriteFile(schemaPath, schema, 0o644))
	}
	kept, err := os.ReadFile(schemaPath)
	require.NoError(t, err)
	assert.Equal(t, string(kept), string(schema), "go test ./suites/record -update writes it anew")
}

func TestResultsAreAsTheirSchemaSays(t *testing.T) {
	text, err := os.ReadFile(schemaPath)
	require.NoError(t, err)
	var schema map[string]any
	require.NoError(t, json.Unmarshal(text, &schema))
	r := sample()
	r.Seal()
	var whole map[string]any
	require.NoError(t, json.Unmarshal(r.JSON(), &whole))
	assert.Empty(t, against(schema, schema, whole, "result"))

	whole["suites"].([]any)[0].(map[string]any)["shoes"] = 2
	delete(whole, "outcome")
	whole["seed"] = "one"
	assert.Equal(t, []string{"result lacks outcome", "result.seed is a string", "result.suites[0].shoes is unknown"}, against(schema, schema, whole, "result"))
}

// against holds a value against the part of JSON Schema that such a schema uses, and says what is wrong.
func against(root, schema map[string]any, value any, at string) (wrong []string) {
	if ref, ok := schema["$ref"].(string); ok {
		return against(root, root["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any), value, at)
	}
	kinds := map[string]any{"object": map[string]any{}, "array": []any{}, "string": "", "boolean": false, "number": 0.0, "integer": 0.0}
	if want, ok := schema["type"].(string); ok && fmt.Sprintf("%T", kinds[want]) != fmt.Sprintf("%T", value) {
		return []string{fmt.Sprintf("%s is a %T", at, value)}
	}
	switch v := value.(type) {
	case []any:
		for i, x := range v {
			wrong = append(wrong, against(root, schema["items"].(map[string]any), x, fmt.Sprintf("%s[%d]", at, i))...)
		}
	case map[string]any:
		properties, _ := schema["properties"].(map[string]any)
		for _, key := range schema["required"].([]any) {
			if _, has := v[key.(string)]; !has {
				wrong = append(wrong, at+" lacks "+key.(string))
			}
		}
		for _, key := range slices.Sorted(maps.Keys(v)) {
			if of, known := properties[key].(map[string]any); known {
				wrong = append(wrong, against(root, of, v[key], at+"."+key)...)
			} else {
				wrong = append(wrong, at+"."+key+" is unknown")
			}
		}
	}
	return wrong
}
