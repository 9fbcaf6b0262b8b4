package language_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/language"
)

var (
	boxTable = language.Table{Name: "a box", Keys: []language.Key{
		{Name: "box", Kind: language.Text, Doc: "its name"},
		{Name: "width", Kind: language.Measure, Quantity: language.Length, Doc: "how wide it is"},
		{Name: "lid", Kind: language.Group, Forms: []language.Form{
			{Has: []string{"hinge"}, Table: &hingedTable}, {Has: []string{"slide"}, Table: &slidingTable},
		}, Doc: "what closes it"},
	}}
	hingedTable  = language.Table{Name: "a hinged lid", Keys: []language.Key{{Name: "hinge", Kind: language.Text, Doc: "where it turns"}}}
	slidingTable = language.Table{Name: "a sliding lid", Keys: []language.Key{{Name: "slide", Kind: language.Text, Doc: "where to"}}}
)

// box reads a file that the table of boxes declares.
func box(t *testing.T, text string) *language.Mapping {
	t.Helper()
	r := language.NewReader(language.Source{Path: "box.yaml", Data: []byte(text)})
	top := r.Tree("box")
	require.NotNil(t, top, "%v", r.Problems)
	v := r.Read(top, &boxTable)
	require.Empty(t, r.Problems)
	return v
}

// A misspelt name in the code that puts a file together would read as a key that was
// left out, and nobody would know.
func TestAKeyThatTheTableLacksPanics(t *testing.T) {
	v := box(t, "box: small\nwidth: 20 mm\n")
	tests := []struct {
		name string
		ask  func(name string)
	}{
		{"written", func(name string) { v.Written(name) }},
		{"get", func(name string) { v.Get(name) }},
		{"node", func(name string) { v.NodeAt(name) }},
		{"has", func(name string) { v.Has(name) }},
		{"number", func(name string) { v.Number(name) }},
		{"time", func(name string) { v.Time(name) }},
		{"whole", func(name string) { v.Whole(name) }},
		{"word", func(name string) { v.Word(name) }},
		{"flag", func(name string) { v.Flag(name) }},
		{"sub", func(name string) { v.Sub(name) }},
		{"list", func(name string) { v.List(name) }},
		{"optional", func(name string) { v.Optional(name) }},
		{"optional time", func(name string) { v.OptionalTime(name) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.NotPanics(t, func() { tt.ask("width") })
			assert.PanicsWithValue(t, `language: the code asks a box for key "widht", which its table lacks; the table has box, width or lid`, func() { tt.ask("widht") })
		})
	}
	assert.True(t, v.MayHave("width"))
	assert.False(t, v.MayHave("widht"))
}

func TestKeysOfOtherFormsMayBeAskedFor(t *testing.T) {
	lid := box(t, "box: small\nlid: {slide: left}\n").Sub("lid")
	assert.False(t, lid.Written("hinge"))
	assert.Equal(t, "left", lid.Word("slide"))
	assert.Panics(t, func() { lid.Word("width") })
}

func TestATableThatIsLeftOutHasNothing(t *testing.T) {
	lid := box(t, "box: small\n").Sub("lid")
	assert.Nil(t, lid)
	assert.False(t, lid.Written("slide"))
	assert.Empty(t, lid.Word("slide"))
	assert.False(t, lid.MayHave("slide"))
}
