package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/suites/language"
)

// LanguagePage returns the page of the language in Markdown: every key of the
// three files, with its unit, bounds, what holds where it is left out, and how it
// is written; then the situations, units and drive logs.
func LanguagePage() []byte {
	p := language.NewPage()
	p.WriteString(pageHead)
	for _, t := range []*language.Table{CarTable, BenchTable, SuiteTable} {
		writeFile(p, t)
	}
	writeShapes(p)
	writeLog(p)
	p.Units()
	return []byte(p.String())
}

const pageHead = `# The language of car, bench and suite files

This page is generated from the keys that the parser goes by.

The files are YAML. Every quantity has its unit written out, ` + "`6 m/s`, `10 deg`, `1500 us`, `40 %`" + `; a bare number is
a mistake, except where a plain number is asked for. Axes and signs are those of ISO 8855: x forward, y left, z
up; yaw rate and steer angle are positive to the left. Keys stand in any order. A file may use anchors and aliases
(` + "`&name`, `*name`" + `), but no merge keys and no tags.

Wheels and motors are ` + "`front_left`, `front_right`, `rear_left`, `rear_right`" + `; motors in a turn also ` + "`outside_front`,\n`inside_front`, `outside_rear`, `inside_rear`" + `.

## In an editor

An editor that knows YAML and JSON Schema completes keys and marks mistakes while you write. Point it at one of the
schemas in the folder ` + "`schema`" + ` beside this page: in its settings for YAML, map ` + "`car.schema.json`, `bench.schema.json` and\n`suite.schema.json`" + ` to the names of your files. The schema knows keys, words and units; what depends on several keys at
once, and the bounds of quantities, only ` + "`hilrig lint`" + ` knows.

## How long a case may be

A case plays for two hours at most, all its repeats and comparisons included, and takes 300 MB of memory at most: one that
would take more is refused. ` + "`hilrig lint`" + ` says how long the longest case of a suite takes, and about how much memory.
In closed loop a figure that is measured over more than about 40 minutes in all takes more than that.
`

// exampleSuite is a suite that shows the language at work.
const exampleSuite = `suite: first look
about: A little of everything that a suite can say.
defaults: {speed: 3 m/s, throttle: 40 %, gain: 50 %}

cases:
  - case: understeer turns torque in
    each: {turn: [left, right], speed: [2 m/s, 4 m/s]}      # four cases
    hold: {steer: 8 deg, yaw_rate: 70 % of demand}          # after a baseline with the yaw rate on demand
    expect:
      - {policy: understeer}                                # what the car file declares, or by hand:
      - {motor: [outside_front, inside_rear], is: unchanged}

  - case: the demand that the board has
    hold: {steer: 8 deg, sweep: {yaw_rate: [50 % of demand, 150 % of demand]}, observe: 8 s}
    expect: [{policy: demand}]

  - case: how late it answers
    hold: {steer: 8 deg, trials: {yaw_rate: [100 % of demand, 70 % of demand], count: 200, interval: 60 ms}}
    expect: [{policy: response}]

  - case: the yaw-rate sensor falls off
    steer: 8 deg
    yaw_rate: 70 % of demand
    steps:
      - {step: before}                                      # the shift is there
      - {step: lost, faults: [{wire: yaw_serial, is: lost}]}
      - {step: after}
    expect: [{policy: yaw_lost, step: lost}]

  - case: no motor leaps while the throttle opens
    steer: 8 deg
    hold: {throttle: {ramp: [0 %, 100 %], over: 3 s}, yaw_rate: 70 % of demand, settle: 0 ms, observe: 3 s}
    expect: [{motor: all, no_jump: 20 %}]

  - case: a step of the steering, driven
    closed: yes                                             # the board's commands drive the model of the car
    compare: yes                                            # and once without the shift, once without a board
    repeat: 5
    gain: 80 %
    hold: {steer: {step: [0 deg, 6 deg], after: 500 ms}, bumps: [{wheel: front_left, load: 0 %, after: 1 s, for: 60 ms}], observe: 2 s}
    expect:
      - {measure: peak_body_slip, at_most: 15 deg}
      - {measure: rms_yaw_error, better_than: off, by: 5 %}
`

// writeFile writes the section of one file, with all tables in it.
func writeFile(p *language.Page, t *language.Table) {
	title := language.WithoutArticle(t.Name)
	fmt.Fprintf(p, "\n## The %s\n\n", title)
	if t == SuiteTable {
		fmt.Fprintf(p, "One with a little of everything:\n\n```yaml\n%s```\n\n", exampleSuite)
	}
	p.Tables(t)
}

// writeShapes writes the section of the shapes, as they are at steer.
func writeShapes(p *language.Page) {
	p.WriteString(`
<a id="shapes"></a>

## Shapes

A shape says how a value moves within its step, from the step's beginning (not from that of its window); beyond its
end its last value holds. The baseline before it holds the value that the shape begins with. The shapes are shown as they
are at ` + "`steer`" + `; elsewhere their values have the unit of their key. A share of the demand is that at the speed and steer
angle that the step begins with, and in open loop cannot be written in a step in which these move.
`)
	for _, f := range heldForms("steer") {
		fmt.Fprintf(p, "\n### %s\n\n%s\n\n", language.Heading(strings.TrimSuffix(f.Table.Name, " of steer")), language.Sentence(f.Table.Doc))
		p.Keys(f.Table)
	}
}

// heldForms returns the shapes of a value that is played.
func heldForms(name string) []language.Form {
	i := slices.IndexFunc(playedKeys, func(k language.Key) bool { return k.Name == name })
	return playedKeys[i].Forms
}

// writeLog writes the section of drive logs.
func writeLog(p *language.Page) {
	fmt.Fprintf(p, `
## Drive logs

A case with `+"`replay: FILE.csv`"+` plays a drive log: CSV in UTF-8 with commas or semicolons, decimal points, and a first line that names
columns and their units, `+"`time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%%]`"+`. Lines that begin with # are remarks.
Columns stand in any order; the first four of the table and the throttle have to be there (in closed loop the yaw rate need
not). Others are not played, and `+"`hilrig lint`"+` names them. Times rise; a gap of more than %d times the median one is a hole, which is a
mistake, and so is a log of more than %s or %d MB. The file is looked for from the suite file's folder. Before the log its first
row is held for 1 s, as the baseline, unless the case says `+"`baseline: none`"+`. The step is called replay.

| column | unit |
|---|---|
`, holeFactor, span(mostLogTime), mostLogBytes>>20)
	for _, name := range []string{"time", "speed", "steer", "yaw_rate", "throttle", "gain", wheelColumn + corners[0]} {
		key, _ := logKey(name)
		var units []string
		for _, u := range key.Quantity.Units() {
			units = append(units, "`"+u+"`")
		}
		if name == wheelColumn+corners[0] {
			name = wheelColumn + "WHEEL"
		}
		fmt.Fprintf(p, "| `%s` | %s |\n", name, language.Or(units))
	}
}
