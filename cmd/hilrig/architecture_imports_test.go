package main_test

import (
	"go/ast"
	"maps"
	"path"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// house lists the folders of packages from the roof to the ground. A package
// imports only what stands in a row below its own. Folders of one row do not
// know each other.
var house = [][]string{
	{"cmd/hilrig"},
	{"cmd/hilrig/usage"},
	{"suites/terminal"},
	{"suites/setup"},
	{"suites/live", "suites/campaign", "suites/search"},
	{"suites/esc"},
	{"suites"},
	{"suites/standard", "suites/demo", "suites/parts"},
	{"suites/report/page"},
	{"suites/report/compare", "suites/report/faults"},
	{"suites/report"},
	{"suites/report/plots"},
	{"suites/record"},
	{"suites/file"},
	{"suites/language"},
	{"suites/schematest"},
	{"assertions/characteristic"},
	{"assertions"},
	{"assertions/law"},
	{"assertions/measure"},
	{"rig/benchtest"},
	{"rig/raspberry/supervisor", "rig/raspberry/preflight"},
	{"rig/raspberry/claim"},
	{"rig/raspberry"},
	{"rig/raspberry/chardev"},
	{"rig/simulated", "rig/raspberry/registers"},
	{"rig/raspberry/timing"},
	{"rig/raspberry/circuit"},
	{"rig/raspberry/hostlines"},
	{"rig/raspberry/serial", "rig/raspberry/i2c"},
	{"rig/raspberry/serial/serialtest"},
	{"rig/raspberry/cdev", "rig/raspberry/pinout", "rig/raspberry/realtime"},
	{"rig", "rig/process"},
	{"rig/board", "rig/board/moment", "rig/decode", "rig/interlock", "rig/stand"},
	{"rig/trace"},
	{"stimulus"},
	{"stimulus/wire"},
	{"plant"},
	{"plant/portable"},
	{"rig/signal", "rig/benchtest/drawn"},
}

// wiredTogether lists what the command line imports of the project: what it wires together
// and prints, and the words for that. It makes no bench, judges nothing and does no sums on
// what was measured, so none of the packages for that is among them.
var wiredTogether = []string{
	"suites", "suites/campaign", "suites/esc", "suites/live", "suites/search", "suites/standard", "suites/demo", "suites/report", "suites/report/page", "suites/report/compare", "suites/report/faults", "suites/report/plots", "suites/record", "suites/file", "suites/language", "suites/parts", "suites/setup", "suites/terminal", "cmd/hilrig/usage",
	"rig/signal", "rig/interlock", "plant", // times, power levels, the names of wheels
	"rig/raspberry", "rig/raspberry/chardev", "rig/raspberry/claim", "rig/raspberry/hostlines", "rig/raspberry/pinout", "rig/raspberry/preflight", "rig/raspberry/realtime", "rig/raspberry/registers", "rig/raspberry/supervisor",
}

func TestTheCommandLineImportsOnlyWhatItWiresTogether(t *testing.T) {
	set, files := goFiles(t)
	for _, f := range files {
		if f.test || f.folder != "cmd/hilrig" {
			continue
		}
		for _, spec := range f.syntax.Imports {
			own, ok := strings.CutPrefix(strings.Trim(spec.Path.Value, "`\""), module+"/")
			assert.True(t, !ok || slices.Contains(wiredTogether, own), "%s: the command line imports %s; it makes no bench and judges nothing: call what does from a package below", position(set, spec.Pos()), own)
		}
	}
}

// What makes benches and orders verdicts is out of the command line's reach, also where a
// package has it beside what the command line prints.
func TestTheCommandLineMakesNoBenchAndOrdersNoVerdicts(t *testing.T) {
	others := map[string][]string{
		"raspberry": {"OpenPins"},
		"registers": {"New", "NewSimulatedPinBank"},
		"suites":    {"Real"},
		"record":    {"Worse", "Worst"},
	}
	set, files := goFiles(t)
	for _, f := range files {
		if f.test || f.folder != "cmd/hilrig" {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			made := ast.Node(nil)
			if ok {
				made = call.Fun
			} else if literal, ok := n.(*ast.CompositeLit); ok {
				made = literal.Type
			}
			if of, ok := made.(*ast.SelectorExpr); ok {
				if from, ok := of.X.(*ast.Ident); ok {
					assert.NotContains(t, others[from.Name], of.Sel.Name, "%s: %s.%s is for packages below the command line", position(set, n.Pos()), from.Name, of.Sel.Name)
				}
			}
			return true
		})
	}
}

// arrow forbids the packages in from to import any of to, and says why.
type arrow struct {
	from    []string // folders, with all below them
	files   []string // names of files in from; nil means all of them
	except  []string // folders below from that may
	to      []string // import paths, with all below them
	allowed []string // import paths below to that are free
	reason  string
}

var forbidden = []arrow{
	{
		from:   []string{"plant", "stimulus", "assertions", "suites/file", "suites/language"},
		to:     []string{"os", "io/ioutil", "syscall", "golang.org/x/sys", "golang.org/x/term", "path/filepath", "log"},
		reason: "it works on values it is given, so that a test needs no machine around it",
	},
	{
		from:   []string{"plant", "stimulus", "assertions", "suites/file", "suites/language"},
		to:     []string{"time", "context"},
		reason: "it has no clock: state, input and step come from the caller, so that a run repeats to the bit",
	},
	{
		from:   []string{"plant", "stimulus", "assertions", "suites/file", "suites/language"},
		to:     []string{"net", "periph.io"},
		reason: "it knows neither network nor pins: a bench does",
	},
	{
		from:    []string{"rig/interlock"},
		to:      []string{"os", "time", "context", "net", "syscall", "golang.org/x/sys", "periph.io", module},
		allowed: []string{"hilrig/rig/signal"},
		reason:  "what lets a motor have its supply is a function of what it is told, so that a test reaches all of it",
	},
	{
		from:   []string{"rig/signal", "rig/decode", "rig/trace"},
		to:     []string{"os", "time", "net", "syscall", "golang.org/x/sys", "periph.io"},
		reason: "wires in virtual and in real time are the same to it",
	},
	{
		from:   []string{"rig/simulated"},
		to:     []string{"time", "net", "syscall", "golang.org/x/sys", "periph.io"},
		reason: "its time is virtual: a look at a clock would make runs differ",
	},
	{
		from:   []string{"rig/board"},
		to:     []string{"hilrig/rig/decode"},
		reason: "a board that wrote its pulses with the decoder's own code would share its mistakes",
	},
	{
		from:   []string{"rig/board"},
		to:     []string{"hilrig/stimulus"},
		reason: "a board that read its sensors with the encoder's own pulse or checksum code would share its mistakes",
	},
	{
		from:   []string{"rig/board"},
		to:     []string{"hilrig/plant", "hilrig/rig/trace", "hilrig/assertions", "hilrig/suites"},
		reason: "a board knows its wires and nothing of the rig's idea of the car",
	},
	{
		from:    []string{"rig/board/moment"},
		to:      []string{"os", "time", "context", "net", "syscall", "golang.org/x/sys", "periph.io", module},
		allowed: []string{"hilrig/rig/signal"},
		reason:  "two boards that shared code would share its mistakes, and what suites find on one would not be shown by the other",
	},
	{
		from:    []string{"rig/stand"},
		to:      []string{"os", "time", "context", "net", "syscall", "golang.org/x/sys", "periph.io", module},
		allowed: []string{"hilrig/rig/signal", "hilrig/plant/portable", "periph.io/x/conn/v3"},
		reason:  "a stand written with the rig's own encoders and decoders would share their mistakes, and its time is virtual",
	},
	{
		from:    []string{"rig/simulated"},
		to:      []string{"hilrig/plant", "hilrig/stimulus", "hilrig/rig/decode", "hilrig/rig/trace"},
		allowed: []string{"hilrig/stimulus/wire"},
		reason:  "a bench carries edges and turns bytes to levels; what they mean is the loop's affair",
	},
	{
		from:   []string{"suites/campaign"},
		to:     []string{"os", "time", "net", "syscall", "golang.org/x/sys", "periph.io", "hilrig/rig/raspberry", "hilrig/suites/live"},
		reason: "its boards are wrong on purpose and seeded into a simulated bench: none of it is for real pins",
	},
	{
		from:    []string{"rig/raspberry"},
		except:  []string{"rig/raspberry/preflight"},
		to:      []string{"hilrig/plant", "hilrig/assertions", "hilrig/suites"},
		allowed: []string{"hilrig/plant/portable"},
		reason:  "pins, loops and processes move levels and know no cars, policies and suites: only what is tried before a run is tried for a car",
	},
	{
		from:   []string{"suites/live"},
		files:  []string{"gate.go", "inputs.go", "list.go", "stand_gate.go", "stand_list.go", "timed_json.go", "wired.go", "wires.go"},
		to:     []string{"os", "time", "context", "net", "syscall", "golang.org/x/sys", "golang.org/x/term", "log"},
		reason: "what decides whether a motor may have its supply, and which lines are made safe, is a function of what it is given, so that a test reaches all of it",
	},
	{
		from:    []string{"cmd", "suites", "assertions", "rig", "stimulus", "plant"},
		to:      []string{"periph.io/x/host", "periph.io/x/conn/v3/driver"},
		allowed: []string{"periph.io/x/host/v3/pmem", "periph.io/x/host/v3/sysfs"},
		reason:  "its driver for registers takes a Pi 5 for a Pi 4 and writes, as root, into memory that is no register: it is never loaded",
	},
	{
		from:    []string{"suites/language"},
		to:      []string{module},
		allowed: []string{"hilrig/rig/signal"},
		reason:  "what a kind of file is made of knows no cars, benches and policies: suites/file declares those",
	},
	{
		from:   []string{"assertions"},
		to:     []string{"hilrig/rig/simulated", "hilrig/rig/board"},
		reason: "a check judges a trace, whatever made it",
	},
	{
		from:   []string{"rig/signal"},
		to:     []string{module},
		reason: "the vocabulary of wires stands on nothing",
	},
	{
		from:   []string{"cmd"},
		to:     []string{"math", "gonum.org"},
		reason: "what is reckoned with what was measured is tried without a command line: it belongs to what measured it, or to suites/report",
	},
	{
		from:   []string{"plant", "stimulus", "rig"},
		to:     []string{"gonum.org", "math/cmplx"},
		reason: "its kernels give other bits on other architectures, and this stands on the way to a trace",
	},
	{
		from:    []string{"cmd", "suites", "assertions", "rig", "stimulus", "plant"},
		to:      []string{"math/rand"},
		allowed: []string{"math/rand/v2"},
		reason:  "its generators may change between Go releases; plant/portable has the project's own noise",
	},
	{
		from:   []string{"suites", "assertions", "rig", "stimulus", "plant"},
		to:     []string{"github.com/spf13/cobra", "hilrig/cmd"},
		reason: "the command line is one user of the packages, not their master",
	},
	{
		from:   []string{"cmd", "suites", "assertions", "rig", "stimulus", "plant"},
		except: []string{"suites/language"},
		to:     []string{"github.com/goccy/go-yaml"},
		reason: "that files are YAML is suites/language's secret",
	},
}

func TestNoPackageImportsWhatIsForbiddenToIt(t *testing.T) {
	set, files := goFiles(t)
	for _, f := range files {
		if f.test {
			continue // a test may hold its package against any other
		}
		for _, spec := range f.syntax.Imports {
			imported := strings.Trim(spec.Path.Value, "`\"")
			for _, a := range forbidden {
				if under(f.folder, a.from...) && (a.files == nil || slices.Contains(a.files, path.Base(f.path))) && !under(f.folder, a.except...) && under(imported, a.to...) && !under(imported, a.allowed...) {
					t.Errorf("%s: %s imports %s, and may not: %s", position(set, spec.Pos()), f.folder, imported, a.reason)
				}
			}
		}
	}
}

func TestAPackageImportsOnlyWhatStandsUnderIt(t *testing.T) {
	row := map[string]int{}
	for i, folders := range house {
		for _, folder := range folders {
			row[folder] = i
		}
	}
	set, files := goFiles(t)
	for _, f := range files {
		if f.test || strings.HasPrefix(f.folder, ".") { // what is tried with the house stands beside it
			continue
		}
		from, ok := row[f.folder]
		if !assert.True(t, ok, "%s: %s has no place in the house; give it one in this test and in DEVELOPERS.md", f.path, f.folder) {
			continue
		}
		for _, spec := range f.syntax.Imports {
			target, own := strings.CutPrefix(strings.Trim(spec.Path.Value, "`\""), module+"/")
			to, ok := row[target]
			assert.True(t, !own || ok && to > from, "%s: %s imports %s, which does not stand under it", position(set, spec.Pos()), f.folder, target)
		}
	}
}

// The rules above fail nobody when they name folders that do not exist.
func TestTheHouseIsTheOneThatStands(t *testing.T) {
	_, files := goFiles(t)
	stands := map[string]bool{}
	for _, f := range files {
		stands[f.folder] = true
	}
	for _, folders := range house {
		for _, folder := range folders {
			assert.True(t, stands[folder], "%s has a place in the house and no Go file", folder)
		}
	}
	for _, a := range forbidden {
		require.NotEmpty(t, a.reason)
		for _, from := range a.from {
			assert.True(t, slices.ContainsFunc(slices.Collect(maps.Keys(stands)), func(folder string) bool { return under(folder, from) }),
				"the rule %q speaks of %s, which does not exist", a.reason, from)
		}
	}
}
