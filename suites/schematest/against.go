package schematest

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Against holds a document against a schema that [Of] made, and says what is wrong, a sentence each.
func Against(schema, document []byte) []string {
	var root object
	var value any
	if err := json.Unmarshal(schema, &root); err != nil {
		return []string{"the schema cannot be read: " + err.Error()}
	}
	if err := json.Unmarshal(document, &value); err != nil {
		return []string{"the document cannot be read: " + err.Error()}
	}
	v := validator{root: root}
	v.value(root, value, "it")
	return v.wrong
}

// validator knows the words of JSON Schema that [Of] writes, and panics at others.
type validator struct {
	root  object
	wrong []string
}

func (v *validator) say(format string, args ...any) {
	v.wrong = append(v.wrong, fmt.Sprintf(format, args...))
}

// value holds a value against a part of the schema.
func (v *validator) value(schema object, value any, at string) {
	if ref, ok := schema["$ref"].(string); ok {
		v.value(v.root["$defs"].(object)[strings.TrimPrefix(ref, "#/$defs/")].(object), value, at)
		return
	}
	if ways, ok := schema["anyOf"].([]any); ok {
		if value != nil {
			v.value(ways[0].(object), value, at) // the other is null
		}
		return
	}
	kind, ok := schema["type"].(string)
	if !ok {
		panic(fmt.Sprintf("the schema says nothing that is known here of %s", at))
	}
	if got := kindOf(value); got != kind && (kind != "number" || got != "integer") {
		v.say("%s is of kind %s and not %s", at, got, kind)
		return
	}
	switch x := value.(type) {
	case float64:
		if least, ok := schema["minimum"].(float64); ok && x < least {
			v.say("%s is below %v", at, least)
		}
	case []any:
		if least, ok := schema["minItems"].(float64); ok && float64(len(x)) != least {
			v.say("%s has %d values and not %v", at, len(x), least)
		}
		for i := range x {
			v.value(schema["items"].(object), x[i], fmt.Sprintf("%s[%d]", at, i))
		}
	case object:
		v.keys(schema, x, at)
	}
}

// keys holds the keys of a table against the schema.
func (v *validator) keys(schema, x object, at string) {
	properties, _ := schema["properties"].(object)
	required, _ := schema["required"].([]any)
	for _, key := range required {
		if _, has := x[key.(string)]; !has {
			v.say("%s lacks %s", at, key)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(x)) {
		of, known := properties[key].(object)
		if !known {
			of, known = schema["additionalProperties"].(object)
		}
		if !known {
			v.say("%s.%s is not in the schema", at, key)
			continue
		}
		v.value(of, x[key], at+"."+key)
	}
}

// kindOf is what JSON Schema calls a value.
func kindOf(value any) string {
	switch x := value.(type) {
	case nil:
		return "null"
	case bool:
		return "boolean"
	case string:
		return "string"
	case []any:
		return "array"
	case float64:
		if x == math.Trunc(x) {
			return "integer"
		}
		return "number"
	}
	return "object"
}
