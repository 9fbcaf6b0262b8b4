package pages

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// Each thing that a reader would stumble over is found on a page that has it.
func TestWhatAReaderStumblesOverIsFound(t *testing.T) {
	var said heard
	tab, cancel := chromedp.NewContext(open(t), chromedp.WithListener(said.listen))
	defer cancel()
	path, err := filepath.Abs("testdata/stumbles.html")
	must(t, err)
	must(t, chromedp.Do(tab, chromedp.Navigate("file://"+path)))
	as(t, tab, "screen", "light", 390, 844)
	at, err := chromedp.Run(tab, chromedp.Evaluate[*looked](look))
	must(t, err)
	said.Lock()
	defer said.Unlock()
	for of, all := range map[*[]string][]string{
		&at.Found: {
			"the page is 700 px wide on a screen of 390 px", `P "words that go on to the right" goes beyond its edge`,
			`the contrast of "pale words"`, `the contrast of "on black"`, `"first" and "second" lie on each other`,
			`"beyond" goes beyond the picture`, "a picture has no text that stands for it: <svg", "a picture has no text that stands for it: <img",
		},
		&said.said:     {"console.log", "thrown: "},
		&said.requests: {"nowhere.png"},
	} {
		for _, one := range all {
			if !slices.ContainsFunc(*of, func(s string) bool { return strings.Contains(s, one) }) {
				t.Errorf("nothing says %q: %q", one, *of)
			}
		}
	}
	for _, none := range []string{`"first" and "on black"`, `"GO"`} {
		if slices.ContainsFunc(at.Found, func(s string) bool { return strings.Contains(s, none) }) {
			t.Errorf("what is well is found as well: %q", at.Found)
		}
	}
}
