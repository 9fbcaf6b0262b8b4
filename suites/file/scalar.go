package file

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

func (r *reader) readWord(v *value, k *Key) {
	v.word = v.node.text
	if !slices.Contains(k.Words, v.word) {
		r.problem(v.node, fmt.Sprintf("%s %q is not known", k.Name, brief(v.word)), instead(v.word, k.Words))
		v.bad = true
	}
}

func (r *reader) readFlag(v *value, k *Key) {
	switch v.node.text {
	case "yes", "true":
		v.flag = true
	case "no", "false":
	default:
		r.problem(v.node, fmt.Sprintf("%s is %q", k.Name, brief(v.node.text)), "write yes or no")
		v.bad = true
	}
}

func (r *reader) readWhole(v *value, k *Key) {
	n, err := strconv.ParseInt(v.node.text, 0, 64)
	if err != nil || strings.Contains(v.node.text, "_") {
		r.problem(v.node, fmt.Sprintf("%s is %q where a whole number is expected", k.Name, brief(v.node.text)), "write it like 12 or 0x0C")
		v.bad = true
		return
	}
	v.whole = n
	least, errLeast := strconv.ParseInt(k.Least, 0, 64)
	most, errMost := strconv.ParseInt(k.Most, 0, 64)
	if errLeast == nil && n < least || errMost == nil && n > most {
		r.outside(v, k)
	}
}

func (r *reader) readMeasure(v *value, k *Key) {
	if slices.Contains(k.Words, v.node.text) {
		v.word = v.node.text
		return
	}
	text, q := v.node.text, k.Quantity
	if k.OfDemand {
		if share, found := strings.CutSuffix(text, "of demand"); found {
			text, q, v.ofDemand = share, Share, true
		}
	}
	x, q, err := parseAny(text, q, k.Also)
	v.quantity = q
	if e, ok := errors.AsType[*unitError](err); ok {
		remedy := e.remedy
		if k.Example != "" {
			remedy = strings.Replace(remedy, measures[q].example, k.Example, 1)
		}
		if k.OfDemand {
			remedy += " or 70 % of demand"
		}
		if len(k.Words) > 0 {
			remedy += ", or " + or(k.Words)
		}
		r.problem(v.node, k.Name+": "+e.message, remedy)
		v.bad = true
		return
	}
	v.number = x
	if v.ofDemand {
		if x < -10 || x > 10 {
			r.problem(v.node, fmt.Sprintf("%s is %s, which is out of range", k.Name, brief(v.node.text)), "write -1000 % to 1000 % of demand")
			v.bad = true
		}
		return
	}
	if k.Least != "" && x < k.bound(k.Least) || k.Most != "" && x > k.bound(k.Most) {
		r.outside(v, k)
	}
}

// parseAny reads a number of quantity q or of one of also. The error is that of q.
func parseAny(text string, q Quantity, also []Quantity) (float64, Quantity, error) {
	x, err := ParseQuantity(text, q)
	if err == nil {
		return x, q, nil
	}
	for _, other := range also {
		if y, wrong := ParseQuantity(text, other); wrong == nil {
			return y, other, nil
		}
	}
	return 0, q, err
}

// readPoint reads a time and a number.
func (r *reader) readPoint(v *value, k *Key) {
	if len(v.node.items) != 2 {
		r.problem(v.node, fmt.Sprintf("a point of %s does not have two values", k.Name), "write a time and a value, like "+k.single())
		v.bad = true
		return
	}
	number := *k
	number.Kind, number.Many = Measure, Once
	v.list = []value{r.value(v.node.items[0], &pointTimeKey), r.value(v.node.items[1], &number)}
	v.bad = v.list[0].bad || v.list[1].bad
}

var pointTimeKey = Key{Name: "time", Kind: Measure, Quantity: Duration, Least: "0 s", Most: "10 min"}

// bound returns one of the key's own bounds in SI units. That each can be read
// is tested.
func (k *Key) bound(text string) float64 {
	x, _ := ParseQuantity(text, k.Quantity)
	return x
}

// outside reports a number beyond the key's bounds.
func (r *reader) outside(v *value, k *Key) {
	v.bad = true
	remedy := ""
	switch {
	case k.Least != "" && k.Most != "":
		remedy = "write " + k.Least + " to " + k.Most
	case k.Least != "":
		remedy = "write at least " + k.Least
	default:
		remedy = "write at most " + k.Most
	}
	r.problem(v.node, fmt.Sprintf("%s is %s, which is out of range", k.Name, brief(v.node.text)), remedy)
}
