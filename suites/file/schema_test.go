package file_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// schemas are the files' schemas by the kind of file.
var schemas = file.Kinds

// golden holds data against a file that is checked in, or accepts it.
func golden(t *testing.T, path string, data []byte) {
	t.Helper()
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, data, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.True(t, string(want) == string(data), "%s is not what the keys say; go test ./suites/file -update writes it anew", path)
}

func TestSchemasAreThoseOfTheKeys(t *testing.T) {
	for kind, table := range schemas {
		golden(t, filepath.Join("schema", kind+".schema.json"), language.Schema(table))
	}
}

// checker holds a value against a JSON Schema: as much of draft 2020-12 as ours
// have in them. An unknown keyword fails.
type checker struct {
	top map[string]any
}

func newChecker(t testing.TB, kind string) *checker {
	t.Helper()
	c := &checker{}
	require.NoError(t, json.Unmarshal(language.Schema(schemas[kind]), &c.top))
	return c
}

// check returns what is wrong with x, "" where nothing is.
func (c *checker) check(x any, schema map[string]any, at string) string {
	for keyword, rule := range schema {
		if wrong := c.keyword(x, schema, keyword, rule, at); wrong != "" {
			return wrong
		}
	}
	return ""
}

func (c *checker) keyword(x any, schema map[string]any, keyword string, rule any, at string) string {
	number, isNumber := x.(float64)
	text, isText := x.(string)
	list, isList := x.([]any)
	table, isTable := x.(map[string]any)
	bad := func(wrong bool, format string, args ...any) string {
		if wrong {
			return at + ": " + fmt.Sprintf(format, args...)
		}
		return ""
	}
	switch keyword {
	case "$schema", "$defs", "title", "description", "examples":
	case "$ref":
		name := strings.TrimPrefix(rule.(string), "#/$defs/")
		def, ok := c.top["$defs"].(map[string]any)[name].(map[string]any)
		if !ok {
			return bad(true, "no definition %q", name)
		}
		return c.check(x, def, at)
	case "type":
		types, several := rule.([]any)
		if !several {
			types = []any{rule}
		}
		return bad(!slices.ContainsFunc(types, func(name any) bool { return isOf(x, name.(string)) }), "%v is not of %v", x, types)
	case "enum":
		return bad(!slices.Contains(rule.([]any), x), "%v is not one of %v", x, rule)
	case "pattern":
		return bad(isText && !regexp.MustCompile(rule.(string)).MatchString(text), "%q is not like %v", text, rule)
	case "minimum":
		return bad(isNumber && number < rule.(float64), "%v is below %v", number, rule)
	case "maximum":
		return bad(isNumber && number > rule.(float64), "%v is above %v", number, rule)
	case "minItems":
		return bad(isList && len(list) < int(rule.(float64)), "%d items", len(list))
	case "maxItems":
		return bad(isList && len(list) > int(rule.(float64)), "%d items", len(list))
	case "items":
		for i, item := range list {
			if wrong := c.check(item, rule.(map[string]any), fmt.Sprintf("%s[%d]", at, i)); wrong != "" {
				return wrong
			}
		}
	case "prefixItems":
		for i, item := range list {
			if wrong := c.check(item, rule.([]any)[i].(map[string]any), fmt.Sprintf("%s[%d]", at, i)); wrong != "" {
				return wrong
			}
		}
	case "required":
		for _, name := range rule.([]any) {
			if _, ok := table[name.(string)]; isTable && !ok {
				return bad(true, "%v is missing", name)
			}
		}
	case "properties":
		for name, value := range table {
			if property, ok := rule.(map[string]any)[name].(map[string]any); ok {
				if wrong := c.check(value, property, at+"."+name); wrong != "" {
					return wrong
				}
			}
		}
	case "additionalProperties":
		for name := range table {
			_, known := schema["properties"].(map[string]any)[name]
			if wrong := bad(!known, "%s is not known", name); wrong != "" {
				return wrong
			}
		}
	case "anyOf", "allOf":
		var wrongs []string
		for _, way := range rule.([]any) {
			if wrong := c.check(x, way.(map[string]any), at); wrong != "" {
				wrongs = append(wrongs, wrong)
			}
		}
		return bad(keyword == "allOf" && len(wrongs) > 0 || len(wrongs) == len(rule.([]any)), "%v", wrongs)
	default:
		return bad(true, "the checker does not know %s", keyword)
	}
	return ""
}

func isOf(x any, name string) bool {
	switch v := x.(type) {
	case float64:
		return name == "number" || name == "integer" && v == math.Trunc(v)
	case string:
		return name == "string"
	case bool:
		return name == "boolean"
	case []any:
		return name == "array"
	case map[string]any:
		return name == "object"
	}
	return false
}

// value reads YAML to what JSON would have.
func value(t testing.TB, data []byte) any {
	t.Helper()
	plain, err := yaml.YAMLToJSON(data)
	require.NoError(t, err)
	var x any
	require.NoError(t, json.Unmarshal(plain, &x))
	return x
}

func TestTheFilesInTheHouseKeepTheSchemas(t *testing.T) {
	car, bench, suite := newChecker(t, "car"), newChecker(t, "bench"), newChecker(t, "suite")
	assert.Empty(t, car.check(value(t, demo.CarYAML), car.top, "car"))
	assert.Empty(t, bench.check(value(t, demo.BenchYAML), bench.top, "bench"))
	for _, name := range standard.Names() {
		_, data, _ := standard.Source(name)
		assert.Empty(t, suite.check(value(t, data), suite.top, name))
	}
}

// What the schema lets through and the parser does not depends on more than one
// key; a mistake in one key both have to see.
func TestTheSchemaSeesMistakes(t *testing.T) {
	tests := []struct{ name, kind, text string }{
		{"unknown key", "car", "mas: 3 kg"},
		{"missing unit", "bench", "tick: 3"},
		{"wrong unit", "suite", "defaults: {speed: 3 kg}"},
		{"wrong word", "bench", "motors_powered: full"},
		{"empty list", "suite", "cases: []"},
		{"no list", "suite", "cases: {case: a}"},
		{"shape in defaults", "suite", "defaults: {speed: {ramp: [1 m/s, 2 m/s], over: 1 s}}"},
		{"shape without its span", "suite", "cases: [{case: a, speed: {ramp: [1 m/s, 2 m/s]}, hold: {}, expect: [{policy: cap}]}]"},
		{"fault without its size", "suite", "cases: [{case: a, hold: {faults: [{wire: steer, is: spike}]}, expect: [{policy: cap}]}]"},
		{"unknown situation", "suite", "cases: [{case: a, hold: {}, expect: [{policy: caps}]}]"},
		{"three bounds", "suite", "cases: [{case: a, hold: {}, expect: [{motor: all, range: [0 %, 1 %, 2 %]}]}]"},
		{"a figure in the wrong unit", "suite", "cases: [{case: a, hold: {}, expect: [{measure: overshoot, at_most: 3 s}]}]"},
		{"no flag", "suite", "cases: [{case: a, closed: maybe, hold: {}, expect: [{policy: cap}]}]"},
		{"lines below the least", "bench", "encoders: {kind: quadrature, lines: 0}"},
	}
	heads := map[string]string{
		"car":   string(demo.CarYAML),
		"bench": string(demo.BenchYAML),
		"suite": "suite: s\ncases: [{case: a, hold: {}, expect: [{policy: cap}]}]\n",
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := newChecker(t, tt.kind)
			whole := value(t, []byte(heads[tt.kind])).(map[string]any)
			require.Empty(t, c.check(whole, c.top, tt.kind))
			maps.Copy(whole, value(t, []byte(tt.text)).(map[string]any))
			assert.NotEmpty(t, c.check(whole, c.top, tt.kind))
		})
	}
}
