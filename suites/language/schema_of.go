package language

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
)

// SchemaOf returns the JSON Schema (draft 2020-12) of what encoding/json writes of a value's type:
// its keys, which of them are always there, and their kinds. A type that writes itself may be anything.
func SchemaOf(title string, value any) []byte {
	s := &schema{defs: object{}, done: map[*Table]bool{}}
	of := reflect.TypeOf(value)
	top := s.fieldsOf(of)
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = title
	if len(s.defs) > 0 {
		top["$defs"] = s.defs
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(top); err != nil {
		return nil // there is nothing in it that cannot be encoded
	}
	return b.Bytes()
}

// kindOf declares a value of a type.
func (s *schema) kindOf(t reflect.Type) object {
	switch t.Kind() {
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.String:
		return object{"type": "string"}
	case reflect.Float32, reflect.Float64:
		return object{"type": "number"}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return object{"type": "integer"}
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return object{"type": "integer", "minimum": 0}
	case reflect.Pointer:
		return s.kindOf(t.Elem())
	case reflect.Slice, reflect.Array:
		return object{"type": "array", "items": s.kindOf(t.Elem())}
	case reflect.Map:
		return object{"type": "object", "additionalProperties": s.kindOf(t.Elem())}
	case reflect.Struct:
		name := strings.ToLower(t.Name())
		if _, known := s.defs[name]; !known {
			s.defs[name] = object{} // where it holds itself
			s.defs[name] = s.fieldsOf(t)
		}
		return object{"$ref": "#/$defs/" + name}
	}
	return object{}
}

// fieldsOf declares a struct.
func (s *schema) fieldsOf(t reflect.Type) object {
	properties, required := object{}, []string{}
	for f := range t.Fields() {
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if !f.IsExported() || key == "-" || key == "" {
			continue
		}
		properties[key] = s.kindOf(f.Type)
		if !strings.Contains(options, "omitempty") && !strings.Contains(options, "omitzero") {
			required = append(required, key)
		}
	}
	return object{"type": "object", "properties": properties, "required": required, "additionalProperties": false}
}
