package language

import (
	"bytes"
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Schema returns the JSON Schema (draft 2020-12) of a file that t declares, for
// editors: the same keys, words and units that the parser goes by. What depends
// on more than one key, and the bounds of quantities, it does not hold.
func Schema(t *Table) []byte {
	s := &schema{defs: object{}, done: map[*Table]bool{}}
	top := s.table(t)
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = t.Name
	top["$defs"] = s.defs
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(top); err != nil {
		return nil // there is nothing in it that cannot be encoded
	}
	return b.Bytes()
}

// object is a JSON object; its keys are written in order of the alphabet.
type object = map[string]any

// schema collects the tables that others refer to.
type schema struct {
	defs object
	done map[*Table]bool
}

// ref refers to a table, which is defined at its first use.
func (s *schema) ref(t *Table) object {
	if !s.done[t] {
		s.done[t] = true
		s.defs[t.Slug()] = s.table(t)
	}
	return object{"$ref": "#/$defs/" + t.Slug()}
}

// Slug is the table's name without article, in words that an anchor can have.
func (t *Table) Slug() string {
	name := strings.TrimPrefix(WithoutArticle(t.Name), "the ")
	return strings.NewReplacer(" ", "_", "'", "", ",", "").Replace(name)
}

// table declares a table.
func (s *schema) table(t *Table) object {
	properties, required := object{}, []string{}
	for i := range t.Keys {
		k := &t.Keys[i]
		properties[k.Name] = s.key(k)
		if k.Required {
			required = append(required, k.Name)
		}
	}
	out := object{"type": "object", "properties": properties, "additionalProperties": false}
	if len(required) > 0 {
		out["required"] = required
	}
	if t.Doc != "" {
		out["description"] = t.Doc
	}
	return out
}

// key declares what stands at a key.
func (s *schema) key(k *Key) object {
	one := s.one(k)
	list := object{"type": "array", "items": one, "minItems": 1}
	var out object
	switch k.Many {
	case Once:
		out = one
	case List:
		out = list
	case OneOrList:
		out = anyOf(one, list)
	case Pair, Two:
		out = object{"type": "array", "items": one, "minItems": 2, "maxItems": 2}
	}
	if _, refers := out["$ref"]; refers {
		out = object{"allOf": []object{out}}
	}
	out["description"] = k.described()
	return out
}

// described is the key's line for people, with its bounds.
func (k *Key) described() string {
	if bounds := k.Bounds(); bounds != "" {
		return k.Doc + " (" + bounds + ")"
	}
	return k.Doc
}

// Bounds says between what a number has to lie, "" where anything goes.
func (k *Key) Bounds() string {
	switch {
	case k.Least != "" && k.Most != "":
		return k.Least + " to " + k.Most
	case k.Least != "":
		return "at least " + k.Least
	case k.Most != "":
		return "at most " + k.Most
	}
	return ""
}

// one declares one value of a key's kind.
func (s *schema) one(k *Key) object {
	var ways []object
	switch k.Kind {
	case Text:
		return object{"type": []string{"string", "number", "boolean"}}
	case Word:
		return object{"enum": k.Words}
	case Flag:
		return object{"enum": []any{"yes", "no", true, false}}
	case Pin:
		return object{"type": "string", "pattern": pinPattern, "examples": []string{k.sampleOne()}}
	case Whole:
		return bounded(object{"type": "integer"}, k)
	case Measure:
		ways = k.quantities()
	case Point:
		number := *k
		number.Kind = Measure
		return object{"type": "array", "prefixItems": []object{s.one(&pointTimeKey), s.one(&number)}, "minItems": 2, "maxItems": 2}
	}
	if len(k.Words) > 0 {
		ways = append(ways, object{"enum": k.Words})
	}
	if k.Table != nil {
		ways = append(ways, s.ref(k.Table))
	}
	for _, t := range k.formTables() {
		ways = append(ways, s.ref(t))
	}
	return anyOf(ways...)
}

// formTables lists the tables of the key's forms, each once.
func (k *Key) formTables() (all []*Table) {
	for _, f := range k.Forms {
		if !slices.Contains(all, f.Table) {
			all = append(all, f.Table)
		}
	}
	return all
}

// quantities declares the ways to write a key's number with its unit.
func (k *Key) quantities() []object {
	var ways []object
	for _, q := range append([]Quantity{k.Quantity}, k.Also...) {
		way := object{"type": "string", "pattern": q.pattern("")}
		if k.Example != "" && q == k.Quantity {
			way["examples"] = []string{k.Example}
		}
		ways = append(ways, way)
		if _, bare := measures[q].unit(""); bare {
			ways = append(ways, bounded(object{"type": "number"}, k))
		}
	}
	if k.ShareOf != "" {
		ways = append(ways, object{"type": "string", "pattern": Share.pattern(" *of " + k.ShareOf)})
	}
	return ways
}

// pattern is the regular expression of a number with a unit of the quantity.
func (q Quantity) pattern(behind string) string {
	var units []string
	for _, u := range measures[q].units {
		for _, name := range append([]string{u.Name}, u.others...) {
			units = append(units, strings.ReplaceAll(regexp.QuoteMeta(name), " ", " +"))
		}
	}
	return numberPattern + ` *(` + strings.Join(units, "|") + ")" + behind + "$"
}

// bounded adds the key's bounds to a plain number.
func bounded(out object, k *Key) object {
	for name, bound := range map[string]string{"minimum": k.Least, "maximum": k.Most} {
		number, _ := SplitNumber(bound)
		if x, err := strconv.ParseFloat(number, 64); err == nil {
			out[name] = x
		}
	}
	return out
}

// anyOf is one of several ways.
func anyOf(ways ...object) object {
	if len(ways) == 1 {
		return ways[0]
	}
	return object{"anyOf": slices.Clone(ways)}
}
