package file_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// seed adds the demo, the standard suites, the mistaken files and some that no
// parser likes.
func seed(f *testing.F) {
	f.Add(demo.CarYAML)
	f.Add(demo.BenchYAML)
	f.Add(demo.StandYAML)
	for _, name := range standard.Names() {
		_, data, _ := standard.Source(name)
		f.Add(data)
	}
	names, _ := filepath.Glob("testdata/*.yaml")
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, text := range []string{
		"", "car: &a [*a]", "suite: {a: &x {b: *x}}", "? a\n: b", "- - - -", "a: |\n  b", "a: >-\n b\n", "!!a &b *c", "%YAML 1.2\n---\na: 1",
		"suite: s\ncases: [{case: a, speed: {table: [[0 s, 1 m/s], [1 s, 2 m/s]]}, hold: {yaw_rate: 0 deg/s, faults: [{wire: steer, is: spike, by: 1 deg}]}, expect: [{measure: overshoot}]}]",
		"suite: s\ndefaults: {speed: 1 m/s, throttle: 1 %, gain: 1 %}\ncases: [{case: a, closed: yes, turn: right, hold: {steer: {sine: 1 deg, at: 1 Hz}, bumps: [{wheel: rear_left, load: 0 %, for: 9 ms}], trials: {yaw_rate: [0 % of demand, 1 deg/s]}}, expect: [{policy: response}]}]",
		"suite: s\ncases: [{case: a, replay: f.csv, expect: [{policy: cap}]}]",
		"suite: s\ncases: [&c {case: a, hold: {}, expect: [{policy: cap}]}, *c]", "a: 'b\n\n c'", "{a: 1, a: 2}", "bench: b\nserial: [{port: a, baud: 1e9 Bd, frames: [{rate: 1e-9 Hz, fields: []}]}]",
	} {
		f.Add([]byte(text))
	}
}

// sound fails where an error is no Problems, or a problem has no place in the file.
func sound(t *testing.T, data []byte, err error) {
	t.Helper()
	if err == nil {
		return
	}
	problems, ok := err.(language.Problems)
	if !ok || len(problems) == 0 {
		t.Fatalf("the error is %T", err)
	}
	lines := 1 + strings.Count(string(data), "\n")
	for i, p := range problems {
		switch {
		case p.Line < 1 || p.Line > lines || p.Column < 1:
			t.Errorf("no such place in %d lines: %s", lines, p.Error())
		case p.Message == "" || strings.ContainsAny(p.Error(), "\n\r"):
			t.Errorf("not a message of one line: %q", p.Error())
		case i > 0 && p.More == 0 && p.File == problems[i-1].File && p.Line < problems[i-1].Line:
			t.Errorf("out of order: %s", p.Error())
		}
	}
}

func FuzzParseCar(f *testing.F) {
	seed(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := file.ParseCar(language.Source{Path: "f.yaml", Data: data})
		sound(t, data, err)
		if err == nil {
			if err := c.Car.Validate(); err != nil {
				t.Errorf("a car that cannot be modelled: %v", err)
			}
		}
	})
}

func FuzzParseBench(f *testing.F) {
	seed(f)
	car, _ := bramble(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		b, err := file.ParseBench(language.Source{Path: "f.yaml", Data: data})
		sound(t, data, err)
		if err == nil {
			w, err := file.Complete(b, car)
			if err != nil || len(w.Layout().Lines) < 15 {
				t.Errorf("a bench that cannot be laid out: %v", err)
			}
		}
	})
}

func FuzzParseStand(f *testing.F) {
	seed(f)
	const csv = "throttle [%],torque [N m]\n0,0\n50,1\n100,2\n100,2\n50,1.1\n0,0\n"
	f.Add([]byte("stand: s\nmeasure: {file: {path: a.csv, command: {column: throttle}, torque: {column: torque}}}\nheld: [{kind: speed, at: 9 rad/s}]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := file.ParseStand(language.Source{Path: "f.yaml", Data: data}, func(string) ([]byte, error) { return []byte(csv), nil })
		sound(t, data, err)
		if err == nil {
			standing(t, s)
		}
	})
}

func FuzzDynamometer(f *testing.F) {
	for _, tt := range badDynamometers {
		f.Add([]byte(tt.text))
	}
	f.Add([]byte("throttle [%],torque [N m]\n0,0\n50,1\n100,2\n100,2\n50,1.1\n0,0\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := dynamometer(string(data), "", locked)
		sound(t, data, err)
		if err == nil {
			standing(t, s)
		}
	})
}

// standing fails where a stand that was read cannot be played or judged.
func standing(t *testing.T, s *file.Stand) {
	for _, w := range file.LintStand(s) {
		if w.Level != language.Warning || w.Excerpt == "" || strings.ContainsAny(w.Error(), "\n\r") {
			t.Errorf("not a warning with its line: %+v", w)
		}
	}
	if s.Plays() != (len(s.Layout().Lines) > 0) || len(s.Held) == 0 {
		t.Errorf("a stand that holds or plays nothing: %+v", s)
	}
	for i := range s.Held {
		if s.TorqueBy(&s.Held[i]) == file.FromNothing {
			t.Errorf("%s without torque", s.Held[i])
		}
	}
	if s.CSV == nil {
		if !slices.IsSorted(s.Plan.Levels) || len(s.Plan.Levels) < 2 || s.Plan.Cycles < 3 || s.Throttle.Rate <= 0 {
			t.Errorf("a plan that is none: %+v", s.Plan)
		}
		return
	}
	for _, one := range s.CSV.Rows {
		if levels := s.CSV.Levels[one.Held]; len(levels) < 2 || one.Level >= len(levels) {
			t.Errorf("a row without level: %+v", one)
		}
	}
}

func FuzzParseSuite(f *testing.F) {
	seed(f)
	car, bench := bramble(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := file.ParseSuite(language.Source{Path: "f.yaml", Data: data}, car, bench)
		sound(t, data, err)
		if err != nil {
			return
		}
		for _, w := range file.Lint(s, car, bench) {
			if w.Level != language.Warning || w.Excerpt == "" || strings.ContainsAny(w.Error(), "\n\r") {
				t.Errorf("not a warning with its line: %+v", w)
			}
		}
		for _, c := range s.Cases {
			if len(c.Steps) == 0 || len(c.Expect) == 0 || c.Name == "" {
				t.Errorf("a case that plays or expects nothing: %+v", c)
			}
			for _, x := range c.Expect {
				if x.Check == nil || x.LastLine < x.Place.Line {
					t.Errorf("an expectation without check or end: %+v", x)
				}
			}
		}
	})
}
