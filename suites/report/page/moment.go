package page

import (
	"fmt"
	"html/template"
	"io"
	"math"
	"regexp"
	"slices"
	"strings"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/plots"
)

// How much is shown before and after a moment, in s, of what is kept in bins.
const (
	before = 0.5
	after  = 0.7
)

// channel is how a quantity that is played is shown.
type channel struct {
	name, unit string
	times      float64
	fine       float64 // changes up to here, in the unit shown, are none
}

// channels are the played quantities by their keys in a record.
var channels = map[string]channel{
	trace.YawRate.String():  {"yaw rate", "deg/s", 180 / math.Pi, 0.5},
	trace.Steer.String():    {"steer angle", "deg", 180 / math.Pi, 0.1},
	trace.Speed.String():    {"speed", "m/s", 1, 0.02},
	trace.Throttle.String(): {"throttle", "%", 100, 0.2},
	trace.Gain.String():     {"gain", "%", 100, 0.2},
}

// moment plots what was played and commanded about the moment of a failure.
func (p *Page) moment(f *failure) (plot template.HTML, caption string) {
	c := &p.of.Result.Suites[f.place.suite].Cases[f.place.index]
	var shown *pictured
	if f.close != nil {
		shown = closeUp(f.close, f.shown, f.from)
	} else if a := p.along[f.place]; a != nil {
		shown = ofBins(a, c, f.shown)
	}
	if shown == nil {
		return "", ""
	}
	title := c.Title()
	shown.About = fmt.Sprintf("What was played and commanded about %s in %s", report.Where(f.shown), title)
	caption = title + ". " + shown.says
	if f.lacks != "" {
		caption += " " + f.lacks
	}
	return drawn(shown.SVG), caption
}

// pictured is a picture of a moment with what is to say of it.
type pictured struct {
	plots.Picture
	says string
}

// wheelNamed finds the wheel that a quantity is of.
var wheelNamed = regexp.MustCompile(`(?:^|[ (])(front_left|front_right|rear_left|rear_right)\b`)

// wheelOf returns the wheel that a check's quantity is of.
func wheelOf(k *record.Check) (plant.Wheel, bool) {
	for _, found := range wheelNamed.FindAllStringSubmatch(k.Quantity, -1) {
		for _, w := range plant.Wheels {
			if found[1] == w.String() {
				return w, true
			}
		}
	}
	return 0, false
}

// ends returns a check's limits, infinite where open.
func ends(k *record.Check) (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	if k.LimitLow != nil {
		low = *k.LimitLow
	}
	if k.LimitHigh != nil {
		high = *k.LimitHigh
	}
	return low, high
}

// kinds of quantities whose limits stand on a motor's commands.
const (
	shiftOf    = "shift of "
	farthestOf = "farthest command of "
)

// limitOn returns what a check asks of its motor's commands themselves, in %; base is where the shift
// is counted from.
func limitOn(k *record.Check, base float64) (low, high float64, ok bool) {
	low, high = ends(k)
	switch {
	case k.Unit != "%" || k.LimitLow == nil && k.LimitHigh == nil:
		return 0, 0, false
	case strings.HasPrefix(k.Quantity, shiftOf) && !math.IsNaN(base):
		return base + low, base + high, true
	case strings.HasPrefix(k.Quantity, farthestOf) && !strings.Contains(k.Quantity, " from "):
		return low, high, true
	}
	return 0, 0, false
}

// ofBins pictures a moment by what a record keeps in bins.
func ofBins(a *record.Along, c *record.Case, k *record.Check) *pictured {
	at := float64(k.AtNS) / 1e9
	start, bin := float64(a.StartNS)/1e9, float64(a.BinNS)/1e9
	if bin <= 0 || len(a.Motors[0].Mean) == 0 {
		return nil
	}
	from := max(0, int((at-before-start)/bin))
	to := min(len(a.Motors[0].Mean), int((at+after-start)/bin)+1)
	if from >= to {
		return nil
	}
	times := make([]float64, to-from)
	for i := range times {
		times[i] = start + float64(float64(from+i)*bin)
	}
	p := &pictured{Picture: plots.Picture{Marks: []plots.Mark{{Name: markName(k), At: at}}, From: times[0], To: times[len(times)-1] + bin}}
	var held []string
	for _, name := range report.MomentChannels {
		values := a.Played[name.String()]
		if len(values) < to {
			continue
		}
		held = p.played(name, times, slices.Clone(values[from:to]), held)
	}
	wheel, of := wheelOf(k)
	for _, w := range plant.Wheels {
		m := &a.Motors[w]
		s := plots.Series{Name: w.String(), At: times, Stepped: true,
			Value: scaled(m.Mean[from:to], 100), Low: scaled(m.Low[from:to], 100), High: scaled(m.High[from:to], 100)}
		panel := plots.Panel{Name: motorName(w), Unit: "% of range", Series: []plots.Series{s}, Least: leastRange}
		if of && w == wheel {
			base := math.NaN()
			if strings.HasPrefix(k.Quantity, shiftOf) && k.Estimate != nil {
				// The means about the moment less the shift that was measured: where it was counted from.
				base = meanFrom(times, s.Value, at, 0.1) - *k.Estimate
			}
			judge(&panel, k, base, at, p.To)
		}
		p.Panels = append(p.Panels, panel)
	}
	p.says = "Means of 10 ms as the record keeps them, the least and the most about each. " + legend(p.Panels) + heldWords(held)
	return p
}

// played adds a quantity that changes, or tells it among those that are held.
func (p *pictured) played(name trace.Channel, times, values []float64, held []string) []string {
	of := channels[name.String()]
	values = scaled(values, of.times)
	low, high := slices.Min(values), slices.Max(values)
	if high-low <= of.fine && name != trace.YawRate {
		return append(held, of.name+" "+report.WithUnit(report.Fixed(values[0], report.Decimals(of.fine)-1), of.unit))
	}
	p.Panels = append(p.Panels, plots.Panel{Name: of.name + " played", Unit: of.unit, Height: 36, Series: []plots.Series{{Name: of.name, At: times, Value: values}}})
	return held
}

// judge draws a check's baseline and its limits on the commands of its motor.
func judge(panel *plots.Panel, k *record.Check, base, from, to float64) {
	if !math.IsNaN(base) {
		panel.Levels = append(panel.Levels, plots.Level{Name: "baseline", From: math.Inf(-1), To: math.Inf(1), Value: base})
	}
	if low, high, ok := limitOn(k, base); ok {
		panel.Limits = append(panel.Limits, plots.Limit{From: from, To: to, Low: low, High: high})
	}
	panel.Height = 70
}

// legend says what lines beside the commands mean, where there are any.
func legend(panels []plots.Panel) string {
	says := ""
	if slices.ContainsFunc(panels, func(p plots.Panel) bool { return len(p.Levels) > 0 }) {
		says += "Dotted: the baseline. "
	}
	if slices.ContainsFunc(panels, func(p plots.Panel) bool { return len(p.Limits) > 0 }) {
		says += "Dashed with dots: the limit. "
	}
	return strings.TrimSpace(says)
}

// leastRange is the least range of commands that is shown, in %.
const leastRange = 6

// markName names the moment of a check.
func markName(k *record.Check) string {
	name := k.Name
	if k.Step != "" {
		name += " in " + k.Step
	}
	return name
}

// motorName is what a motor is called above its commands.
func motorName(w plant.Wheel) string { return "motor " + strings.ReplaceAll(w.String(), "_", " ") }

// drawn returns what a picture draws, as it stands in the page; the package plots escapes all texts.
func drawn(svg func(w io.Writer) error) template.HTML {
	var out strings.Builder
	if err := svg(&out); err != nil {
		return ""
	}
	return template.HTML(out.String())
}

// heldWords tells what did not change.
func heldWords(held []string) string {
	if len(held) == 0 {
		return ""
	}
	return " Held meanwhile: " + strings.Join(held, ", ") + "."
}

// scaled returns values times a factor.
func scaled(values []float64, by float64) []float64 {
	out := make([]float64, len(values))
	for i, x := range values {
		out[i] = float64(x * by)
	}
	return out
}

// meanFrom returns the mean of values from a time on for so long.
func meanFrom(times, values []float64, at, long float64) float64 {
	sum, n := 0.0, 0
	for i, t := range times {
		if t >= at && t < at+long && !math.IsNaN(values[i]) {
			sum, n = sum+values[i], n+1
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}
