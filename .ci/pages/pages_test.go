// Package pages opens pages of records in a browser, as their readers do.
package pages

import (
	"bytes"
	"context"
	_ "embed"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

var shots = flag.String("shots", "", "write pictures of the pages as they are shown, and the pages, into this `folder`")

//go:embed look.js
var look string

// looked is what look.js returns.
type looked struct {
	Found                []string
	Title, Outcome, Text string
	Letters, OutcomeEnds float64 // px
	Top                  float64
	WrongTop, WrongWide  float64
	Width, Body, Tallest float64
	High                 float64 // the whole page, px
	Folded               int     // parts
}

// screen is how a page is shown. An outcome has to be read from two metres: 20 minutes of arc, as ISO 9241-303
// prefers them (MEM), are capitals of 12 mm there, which letters of 60 px have at 96 px to the inch; on a phone,
// whose px are about 0.16 mm, those of 16 minutes, the least there, take 80 px.
type screen struct {
	name          string
	width, height int64
	dark          bool
	letters       float64 // of the outcome at least, px
}

var screens = []screen{
	{"desktop-light", 1280, 900, false, 150},
	{"desktop-dark", 1280, 900, true, 150},
	{"phone-light", 390, 844, false, 80},
	{"phone-dark", 390, 844, true, 80},
}

// paper is A4 less the browser's own margins, px.
const (
	paperWidth  = 718
	paperHeight = 1046
)

func TestPagesAsTheyAreRead(t *testing.T) {
	ctx := open(t)
	m := newMaker(t)
	for _, p := range m.make(t) {
		t.Run(p.name, func(t *testing.T) {
			path := filepath.Join(m.home, p.name+".html")
			shoot(t, p.name+".html", func() ([]byte, error) { return os.ReadFile(path) })
			var said heard
			tab, cancel := chromedp.NewContext(ctx, chromedp.WithListener(said.listen))
			defer cancel()
			url := "file://" + path
			must(t, chromedp.Do(tab, chromedp.Navigate(url)))
			for _, s := range screens {
				p.onScreen(t, tab, &s)
			}
			p.onPaper(t, tab)
			said.hold(t, url)
		})
	}
}

// onScreen looks at the page on a screen.
func (p *page) onScreen(t *testing.T, tab context.Context, s *screen) {
	t.Helper()
	scheme := map[bool]string{false: "light", true: "dark"}[s.dark]
	as(t, tab, "screen", scheme, s.width, s.height)
	at := p.looked(t, tab, s.name)
	if at.Letters < s.letters {
		t.Errorf("%s: the outcome %s is written in letters of %.0f px, and %.0f are needed to read it from two metres", s.name, at.Outcome, at.Letters, s.letters)
	}
	if at.Top > float64(s.height)/2 && !p.notWhole {
		t.Errorf("%s: the outcome begins at %.0f px of a screen of %d px", s.name, at.Top, s.height)
	}
	if p.notWhole && (at.WrongTop < 0 || at.WrongTop > 20 || at.WrongWide < at.Body) {
		t.Errorf("%s: that the record is not whole does not stand across the page's top: from %.0f px on, %.0f px wide", s.name, at.WrongTop, at.WrongWide)
	}
	if !p.notWhole && at.WrongTop >= 0 {
		t.Errorf("%s: it says that the record is not whole", s.name)
	}
	if at.High > mostScreens*float64(s.height) {
		t.Errorf("%s: the page is opened %.0f px high, and the screen is %d", s.name, at.High, s.height)
	}
	p.picture(t, tab, s.name)
	if at.Folded > 0 {
		unfolded, err := chromedp.Run(tab, chromedp.Evaluate[int](unfold))
		must(t, err)
		if whole := p.looked(t, tab, s.name+", unfolded"); unfolded != at.Folded || whole.Folded != 0 || whole.High < 1.5*at.High {
			t.Errorf("%s: of %d folded parts %d are unfolded, and %d stay folded; the page is %.0f px high then and was %.0f", s.name, at.Folded, unfolded, whole.Folded, whole.High, at.High)
		}
		_, err = chromedp.Run(tab, chromedp.Evaluate[int](fold))
		must(t, err)
	}
	if p.folds != (at.Folded > 0) {
		t.Errorf("%s: %d parts are folded", s.name, at.Folded)
	}
}

// mostScreens is how many screens a page may be high as it is opened: so much is read from its beginning to its end.
// Common practice, no source.
const mostScreens = 30

// unfold unfolds what is folded and fold undoes that; each returns how many parts.
const (
	unfold = `folded = [...document.querySelectorAll("details:not([open])")]; folded.forEach(d => d.open = true); folded.length`
	fold   = `folded.forEach(d => d.open = false); folded.length`
)

// as shows a page on another screen, or as it is printed.
func as(t *testing.T, tab context.Context, media, scheme string, width, height int64) {
	t.Helper()
	must(t, chromedp.Do(tab, chromedp.EmulateViewport(width, height)))
	_, err := chromedp.Call(tab, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media: media, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	must(t, err)
}

// onPaper looks at the page as it is printed, and prints it.
func (p *page) onPaper(t *testing.T, tab context.Context) {
	t.Helper()
	as(t, tab, "print", "dark", paperWidth, paperHeight)
	at := p.looked(t, tab, "paper")
	if at.Tallest > paperHeight {
		t.Errorf("paper: a picture or a row of a table is %.0f px high, and a sheet has %d", at.Tallest, paperHeight)
	}
	p.picture(t, tab, "paper")
	pdf, err := chromedp.Run(tab, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4), chromedp.PDFPrintBackground()))
	must(t, err)
	if sheets := len(sheet.FindAll(pdf, -1)); sheets == 0 || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("printed it has %d sheets", sheets)
	}
	shoot(t, p.name+".pdf", func() ([]byte, error) { return pdf, nil })
}

// sheet finds the sheets of a PDF file.
var sheet = regexp.MustCompile(`/Type\s*/Page\b`)

// looked looks at the page as it is shown now.
func (p *page) looked(t *testing.T, tab context.Context, how string) *looked {
	t.Helper()
	at, err := chromedp.Run(tab, chromedp.Evaluate[*looked](look))
	must(t, err)
	for _, f := range at.Found {
		t.Errorf("%s: %s", how, f)
	}
	if at.Outcome != p.outcome || !strings.HasPrefix(at.Title, p.outcome+": ") {
		t.Errorf("%s: the outcome is %q and the title %q, not %s", how, at.Outcome, at.Title, p.outcome)
	}
	if at.OutcomeEnds > at.Width {
		t.Errorf("%s: the outcome ends at %.0f px, and the page at %.0f", how, at.OutcomeEnds, at.Width)
	}
	if !strings.Contains(at.Text, p.says) {
		t.Errorf("%s: it does not say %q", how, p.says)
	}
	return at
}

// picture takes a picture of the page as it is shown now.
func (p *page) picture(t *testing.T, tab context.Context, how string) {
	t.Helper()
	shoot(t, fmt.Sprintf("%s-%s.png", p.name, how), func() ([]byte, error) { return chromedp.Run(tab, chromedp.FullScreenshot(100)) })
}

// shoot writes a file into the folder that is asked for.
func shoot(t *testing.T, name string, take func() ([]byte, error)) {
	t.Helper()
	if *shots == "" {
		return
	}
	data, err := take()
	must(t, err)
	must(t, os.MkdirAll(*shots, 0o700))
	must(t, os.WriteFile(filepath.Join(*shots, name), data, 0o600))
}
