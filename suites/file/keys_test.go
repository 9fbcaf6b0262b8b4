package file

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/suites/language"
)

// tables calls f for every table of the language, each once.
func tables(f func(*language.Table)) {
	seen := map[*language.Table]bool{}
	var walk func(*language.Table)
	walk = func(t *language.Table) {
		if t == nil || seen[t] {
			return
		}
		seen[t] = true
		f(t)
		for i := range t.Keys {
			walk(t.Keys[i].Table)
			for _, form := range t.Keys[i].Forms {
				walk(form.Table)
			}
		}
	}
	for _, t := range kinds {
		walk(t)
	}
}

func TestEveryKeyIsDeclaredWhole(t *testing.T) {
	count := 0
	tables(func(table *language.Table) {
		assert.NotEmpty(t, table.Name)
		names := map[string]bool{}
		for i := range table.Keys {
			k := &table.Keys[i]
			at := table.Name + ": " + k.Name
			count++
			assert.False(t, names[k.Name], "%s stands twice", at)
			names[k.Name] = true
			assert.NotEmpty(t, k.Doc, at)
			assert.Equal(t, k.Kind == language.Group, k.Table != nil || k.Forms != nil && k.Kind != language.Measure, at)
			if k.Kind == language.Word {
				assert.NotEmpty(t, k.Words, at)
			}
			if k.Kind == language.Measure || k.Kind == language.Point {
				for _, bound := range []string{k.Least, k.Most} {
					if bound != "" {
						_, err := language.ParseQuantity(bound, k.Quantity)
						assert.NoError(t, err, at)
					}
				}
			}
		}
	})
	assert.Greater(t, count, 100)
}

// What a message shows as an example has to be right itself.
func TestEveryExampleCanBeRead(t *testing.T) {
	tables(func(table *language.Table) {
		for i := range table.Keys {
			k := &table.Keys[i]
			one := language.Table{Name: table.Name, Keys: []language.Key{*k}}
			text := k.Name + ": " + k.Sample()
			r := language.NewReader(language.Source{Path: "example", Data: []byte(text)})
			top := r.Tree(k.Name)
			require.NotNil(t, top, "%s: %v", text, r.Problems)
			r.Read(top, &one)
			assert.Empty(t, r.Problems, text)
		}
	})
}

// Definitions of the schema and headings of the page go by the tables' names.
func TestEveryTableHasANameOfItsOwn(t *testing.T) {
	names := map[string]bool{}
	tables(func(table *language.Table) {
		assert.False(t, names[table.Slug()], table.Name)
		assert.Regexp(t, "^[a-z0-9_-]+$", table.Slug())
		names[table.Slug()] = true
	})
}

func TestEveryFigureHasItsUnit(t *testing.T) {
	assert.Len(t, figureKeys, len(assertions.Measures))
	for _, word := range assertions.Measures {
		assert.Contains(t, figureKeys, word)
	}
}
