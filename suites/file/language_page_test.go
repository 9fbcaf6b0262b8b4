package file

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"hilrig/suites/demo"
	"hilrig/suites/language"
)

// Kinds are the kinds of file by the key that each begins with.
var Kinds = func() map[string]*language.Table {
	all := map[string]*language.Table{}
	for _, t := range kinds {
		all[t.Keys[0].Name] = t
	}
	return all
}()

// LanguagePage returns the page of the language in Markdown: every key of all
// kinds of file, with its unit, bounds, what holds where it is left out, and how it
// is written; then the situations, units and drive logs.
func LanguagePage() []byte {
	p := &page{done: map[*language.Table]bool{}}
	p.WriteString(pageText("head.md"))
	writeFirst(p)
	for _, t := range kinds {
		writeFile(p, t)
	}
	writeSituations(p)
	writePoints(p)
	writeShapes(p)
	writeLog(p)
	p.units()
	return []byte(p.String())
}

// pageText returns what the page says besides the keys.
func pageText(name string) string {
	text, err := os.ReadFile(filepath.Join("testdata", "page", name))
	if err != nil {
		panic(err) // the tests of the page run in this folder
	}
	return string(text)
}

// FirstSuites are the suites of the guide to a first one, in its order, each with its sentences as a remark.
func FirstSuites() []string { return strings.Split(pageText("first.yaml"), "---\n") }

// writeFirst writes that guide.
func writeFirst(p *page) {
	p.WriteString(pageText("first.md"))
	for i, suite := range FirstSuites() {
		says, file, _ := strings.Cut(suite, "\n")
		fmt.Fprintf(p, "%d. %s\n\n   ```yaml\n   %s\n   ```\n\n", i+1, strings.TrimPrefix(says, "# "), strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(file), "\n", "\n   "), "\n   \n", "\n\n"))
	}
	p.WriteString("[Situations](#situations) lists what a policy may be asked, and what a step needs for it; the section on the suite file has every key.\n")
}

// writeFile writes the section of one file, with all tables in it.
func writeFile(p *page, t *language.Table) {
	title := language.WithoutArticle(t.Name)
	fmt.Fprintf(p, "\n## The %s\n\n", title)
	if t == SuiteTable {
		fmt.Fprintf(p, "One with a little of everything:\n\n```yaml\n%s```\n\n", pageText("example.yaml"))
	}
	if t == StandTable {
		fmt.Fprintf(p, pageText("stand.md"), demo.StandYAML, span(silence), span(relayOpens), language.Share.Format(sameLevel), language.Share.Format(heldShare))
	}
	p.tables(t)
}

// writePoints writes the section of the points.
func writePoints(p *page) {
	p.WriteString(pageText("points.md"))
	for _, k := range stimulusKeys {
		for _, t := range pointsOf[k.Name] {
			fmt.Fprintf(p, "\n### %s\n\n", heading(language.WithoutArticle(t.Name)))
			p.keys(t)
		}
	}
}

// writeShapes writes the section of the shapes, as they are at steer.
func writeShapes(p *page) {
	p.WriteString(pageText("shapes.md"))
	for _, f := range heldForms("steer") {
		fmt.Fprintf(p, "\n### %s\n\n%s\n\n", heading(strings.TrimSuffix(f.Table.Name, " of steer")), sentence(f.Table.Doc))
		p.keys(f.Table)
	}
}

// heldForms returns the shapes of a value that is played.
func heldForms(name string) []language.Form {
	i := slices.IndexFunc(playedKeys, func(k language.Key) bool { return k.Name == name })
	return slices.DeleteFunc(slices.Clone(playedKeys[i].Forms), func(f language.Form) bool { return isPointTable(f.Table) })
}

// writeLog writes the section of drive logs.
func writeLog(p *page) {
	fmt.Fprintf(p, pageText("logs.md"), holeFactor, span(mostLogTime), MostLogBytes>>20)
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
