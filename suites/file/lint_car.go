package file

import (
	"fmt"
	"math"

	"hilrig/suites/language"
)

// LintCar returns what is odd about a car that can be played: that its policy has the
// firmware work out the demand of a car with another wheelbase, by more than the
// demand's own within. It may be meant, for firmware that was built for another car. The
// wheelbase is all that a car and its policy both say.
func LintCar(c *Car) language.Warnings {
	d := c.Policy.Demand
	if d == nil {
		return nil
	}
	own := c.Car.FrontAxle + c.Car.RearAxle
	off := d.Wheelbase/own - 1
	if !(math.Abs(off) > d.Within+1e-9) {
		return nil
	}
	way := "longer"
	if off < 0 {
		way = "shorter"
	}
	q := language.Problem{
		Place: c.demanded, Value: language.Length.Format(d.Wheelbase), Level: language.Warning,
		Message: fmt.Sprintf("the demand's wheelbase, %s, is %s %s than the car's, %s in line %d; its within is %s",
			language.Length.Format(d.Wheelbase), language.Share.Format(math.Round(1000*math.Abs(off))/1000), way, language.Length.Format(own), c.wheelbase.Line, language.Share.Format(d.Within)),
		Remedy: "write the same in both, unless the firmware was built for another car",
	}
	q.Excerpt = c.Source.ExcerptAt(q.Place)
	return language.Warnings{q}
}
