package schematest

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
)

type object = map[string]any

// schema collects the types that others refer to.
type schema struct {
	comments Comments
	defs     object
}

// Of returns the JSON Schema of what encoding/json writes of a value's type: its keys, what each means, which of
// them are always there, and their kinds. A list or a pointer that may be nil and is written all the same may be null.
func Of(title string, value any, comments Comments) ([]byte, error) {
	s := &schema{comments: comments, defs: object{}}
	top := s.fieldsOf(reflect.TypeOf(value))
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = title
	if len(s.defs) > 0 {
		top["$defs"] = s.defs
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	err := e.Encode(top)
	return b.Bytes(), err
}

// kindOf declares a value of a type; absent says that nil is not written.
func (s *schema) kindOf(t reflect.Type, absent bool) object {
	orNull := func(o object) object {
		if absent {
			return o
		}
		return object{"anyOf": []any{o, object{"type": "null"}}}
	}
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
		return orNull(s.kindOf(t.Elem(), true))
	case reflect.Slice:
		return orNull(object{"type": "array", "items": s.kindOf(t.Elem(), false)})
	case reflect.Array:
		return object{"type": "array", "items": s.kindOf(t.Elem(), false), "minItems": t.Len(), "maxItems": t.Len()}
	case reflect.Map:
		return orNull(object{"type": "object", "additionalProperties": s.kindOf(t.Elem(), false)})
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
	for _, f := range fields(t) {
		of := s.kindOf(f.field.Type, f.omitted)
		if text := s.comments.of(f.in, f.field); text != "" {
			of["description"] = text
		}
		properties[f.key] = of
		if !f.omitted {
			required = append(required, f.key)
		}
	}
	o := object{"type": "object", "properties": properties, "required": required, "additionalProperties": false}
	if text := s.comments.ofType(t); text != "" {
		o["description"] = text
	}
	return o
}

// jsonField is a field that is written, under its key.
type jsonField struct {
	key     string
	field   reflect.StructField
	in      reflect.Type // the struct that declares it
	omitted bool         // where it is empty
}

// fields lists what encoding/json writes of a struct, with what structs without a name of their own hold.
func fields(t reflect.Type) (all []jsonField) {
	for f := range t.Fields() {
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && key == "" && f.Type.Kind() == reflect.Struct:
			all = append(all, fields(f.Type)...)
		case f.IsExported() && key != "" && key != "-":
			all = append(all, jsonField{key, f, t, strings.Contains(options, "omitempty") || strings.Contains(options, "omitzero")})
		}
	}
	return all
}
