package file

import "hilrig/suites/language"
import "strings"

// shaped returns key k with the shapes that may stand for its value.
func shaped(k language.Key) language.Key {
	k.Forms = shapesOf(k)
	return k
}

// shapesOf declares the shapes of the value at k, whose numbers are of k's own
// quantity and within its bounds.
func shapesOf(k language.Key) []language.Form {
	one := func(name, doc string, required bool) language.Key {
		x := k
		x.Name, x.Doc, x.Required = name, doc, required
		return x
	}
	many := func(x language.Key, m language.Many) language.Key {
		x.Many = m
		return x
	}
	amplitude := func(name string) language.Key {
		x := one(name, "how far it goes to either side of the middle; below 0 it begins downwards", true)
		if !strings.HasPrefix(x.Least, "-") { // a swing may begin downwards all the same
			x.Least = "-" + x.Most
		}
		return x
	}
	about := one("about", "the middle; left out: 0", false)
	form := func(name, doc string, keys ...language.Key) language.Form {
		return language.Form{Has: []string{name}, Table: language.NewTable("a "+strings.ReplaceAll(name, "_", " ")+" of "+k.Name, doc, keys)}
	}
	points := many(one("table", "times from the step's beginning, rising, each with its value", true), language.List)
	points.Kind, points.Example = language.Point, ""
	return []language.Form{
		form("ramp", "from one value to another in a straight line", many(one("ramp", "first and last value", true), language.Two), spanKey("over", "how long it takes")),
		form("step", "one value, then another at once", many(one("step", "value before and after", true), language.Two), spanKey("after", "when it steps, from the step's beginning")),
		form("sine", "swings about a middle, beginning there", amplitude("sine"), rateKey("at", "swings a second"), about,
			language.Key{Name: "cycles", Kind: language.Measure, Quantity: language.Factor, Least: "0.25", Most: "100000", Example: "3", Doc: "swings, after which it stays at the middle; left out: no end"}),
		form("chirp", "swings whose frequency goes evenly from one value to another", amplitude("chirp"), rateKey("from", "frequency at first"), risen(rateKey("to", "frequency at last")), spanKey("over", "how long it takes"), about),
		form("sine_with_dwell", "one swing with a pause at its second peak", amplitude("sine_with_dwell"), rateKey("at", "frequency of the swing"), spanKey("dwell", "the pause"), about),
		form("table", "straight lines from point to point, the last value for good", points),
	}
}

func spanKey(name, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "0 ms", Most: "10 min", Example: "200 ms", Doc: doc}
}

func rateKey(name, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "0.01 Hz", Most: "100 Hz", Example: "1 Hz", Doc: doc}
}

// risen returns a frequency's key with an example above that of others.
func risen(k language.Key) language.Key {
	k.Example = "4 Hz"
	return k
}

// shapedAll returns the keys with their shapes.
func shapedAll(keys []language.Key) []language.Key {
	out := make([]language.Key, len(keys))
	for i, k := range keys {
		out[i] = shaped(k)
	}
	return out
}
