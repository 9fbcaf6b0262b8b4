package language

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

func (r *Reader) readWord(v *Value, k *Key) {
	v.Word = v.Node.Text
	if !slices.Contains(k.Words, v.Word) {
		r.reject(v, fmt.Sprintf("%s %q is not known", k.Name, Brief(v.Word)), Instead(v.Word, k.Words))
	}
}

func (r *Reader) readFlag(v *Value, k *Key) {
	switch v.Node.Text {
	case "yes", "true":
		v.Flag = true
	case "no", "false":
	default:
		r.reject(v, fmt.Sprintf("%s is %q", k.Name, Brief(v.Node.Text)), "write yes or no")
	}
}

func (r *Reader) readWhole(v *Value, k *Key) {
	n, err := strconv.ParseInt(v.Node.Text, 0, 64)
	if with, ok := WithMinus(v.Node.Text); ok {
		r.reject(v, fmt.Sprintf("%s: %q begins with a dash that is no minus sign", k.Name, Brief(v.Node.Text)), "write "+Brief(with))
		return
	}
	if err != nil || strings.Contains(v.Node.Text, "_") {
		r.reject(v, fmt.Sprintf("%s is %q where a whole number is expected", k.Name, Brief(v.Node.Text)), "write it like 12 or 0x0C")
		return
	}
	v.Whole = n
	least, errLeast := strconv.ParseInt(k.Least, 0, 64)
	most, errMost := strconv.ParseInt(k.Most, 0, 64)
	if errLeast == nil && n < least || errMost == nil && n > most {
		r.outside(v, k, "write "+k.Bounds())
	}
}

func (r *Reader) readMeasure(v *Value, k *Key) {
	if slices.Contains(k.Words, v.Node.Text) {
		v.Word = v.Node.Text
		return
	}
	text, q := v.Node.Text, k.Quantity
	if share, found := strings.CutSuffix(text, "of "+k.ShareOf); found && k.ShareOf != "" {
		text, q, v.Relative = share, Share, true
	}
	x, q, err := parseAny(text, q, k.Also)
	v.Quantity = q
	if e, ok := errors.AsType[*unitError](err); ok {
		remedy := e.remedy
		if k.Example != "" {
			remedy = strings.Replace(remedy, measures[q].example, k.Example, 1)
		}
		if k.ShareOf != "" {
			remedy += " or 70 % of " + k.ShareOf
		}
		if len(k.Words) > 0 {
			remedy += ", or " + Or(k.Words)
		}
		r.reject(v, k.Name+": "+e.message, remedy)
		return
	}
	v.Number = x
	if v.Relative {
		if x < -10 || x > 10 {
			r.outside(v, k, "write -1000 % to 1000 % of "+k.ShareOf)
		}
		return
	}
	if !k.Holds(x) {
		r.outside(v, k, "write "+k.Bounds())
	}
}

// parseAny reads a number of quantity q or of one of also. The error is that of q.
func parseAny(text string, q Quantity, also []Quantity) (float64, Quantity, error) {
	x, err := ParseQuantity(text, q)
	for _, other := range also {
		if y, wrong := ParseQuantity(text, other); err != nil && wrong == nil {
			return y, other, nil
		}
	}
	return x, q, err
}

// readPoint reads a time and a number.
func (r *Reader) readPoint(v *Value, k *Key) {
	if len(v.Node.items) != 2 {
		r.reject(v, fmt.Sprintf("a point of %s does not have two values", k.Name), "write a time and a value, like "+k.sampleOne())
		return
	}
	number := *k
	number.Kind, number.Many = Measure, Once
	v.List = []Value{r.value(v.Node.items[0], &pointTimeKey), r.value(v.Node.items[1], &number)}
	v.Bad = v.List[0].Bad || v.List[1].Bad
}

var pointTimeKey = Key{Name: "time", Kind: Measure, Quantity: Duration, Least: "0 s", Most: "10 min"}

// Bound returns one of the key's own bounds in SI units. That each can be read
// is tested.
func (k *Key) Bound(text string) float64 {
	x, _ := ParseQuantity(text, k.Quantity)
	return x
}

// Holds tells whether x, in SI units, lies within the key's bounds.
func (k *Key) Holds(x float64) bool {
	return (k.Least == "" || x >= k.Bound(k.Least)) && (k.Most == "" || x <= k.Bound(k.Most))
}

// outside reports a number beyond the key's bounds.
func (r *Reader) outside(v *Value, k *Key, remedy string) {
	r.reject(v, fmt.Sprintf("%s is %s, which is out of range", k.Name, Brief(v.Node.Text)), remedy)
}
