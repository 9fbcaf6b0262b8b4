package report

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/record"
)

func TestMeasured(t *testing.T) {
	n := record.Number
	for _, test := range []struct {
		name  string
		check record.Check
		want  string
	}{
		{"nothing", record.Check{Why: "no command came"}, "not measured"},
		{"nothing, by an earlier version", record.Check{Estimate: n(0), Low: n(0), High: n(0), LimitLow: n(0), LimitHigh: n(0)}, "not measured"},
		{"two digits of the half-width", record.Check{Quantity: "x", Unit: "%", Estimate: n(-8.0213), Low: n(-8.13), High: n(-7.91)}, "-8.02 % (-8.13 to -7.91)"},
		{"a wide interval", record.Check{Quantity: "x", Unit: "ms", Estimate: n(123.4), Low: n(100.2), High: n(146.6)}, "123 ms (100 to 147)"},
		{"no uncertainty", record.Check{Quantity: "x", Estimate: n(3), Low: n(3), High: n(3)}, "3.00 (3.00 to 3.00)"},
		{"no interval", record.Check{Quantity: "x", Unit: "ms", Estimate: n(12)}, "12.00 ms"},
		{"open above", record.Check{Quantity: "x", Unit: "ms", Estimate: n(12), Low: n(11)}, "12.00 ms (11.00 to any)"},
		{"no negative zero", record.Check{Quantity: "x", Unit: "%", Estimate: n(-0.001), Low: n(-0.2), High: n(0.2)}, "0.00 % (-0.20 to 0.20)"},
	} {
		t.Run(test.name, func(t *testing.T) { assert.Equal(t, test.want, Measured(&test.check)) })
	}
}
