package pages

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// must ends a test with an error.
func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// asExit says whether a program ended with a status of its own.
func asExit(err error, e **exec.ExitError) bool { return errors.As(err, e) }

// open starts a browser that asks nothing of any network by itself, and ends it with the test.
func open(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("chromium is not there: apt-get install chromium")
		}
		t.Skip("chromium is not there: apt-get install chromium")
	}
	options := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()), chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck,
		chromedp.Headless, chromedp.Flag("disable-gpu", true), chromedp.WSURLReadTimeout(3 * time.Minute),
	}
	for _, flag := range []string{"disable-quic", "disable-background-networking", "disable-component-update", "disable-sync", "disable-extensions", "hide-scrollbars"} {
		options = append(options, chromedp.Flag(flag, true))
	}
	if os.Geteuid() == 0 {
		options = append(options, chromedp.NoSandbox) // the browser's own sandbox is not to be had as root
	}
	ctx, cancel := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	must(t, chromedp.Do(ctx)) // starts it
	return ctx
}

// heard is what a browser said while it showed a page.
type heard struct {
	sync.Mutex
	requests []string
	said     []string // to its console and its log
}

// listen hears what a tab asks for and says.
func (h *heard) listen(event any) {
	h.Lock()
	defer h.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if !strings.HasPrefix(e.Request.URL, "data:") { // a picture that stands in the page
			h.requests = append(h.requests, e.Request.URL)
		}
	case *log.EventEntryAdded:
		h.said = append(h.said, fmt.Sprintf("%s: %s", e.Entry.Level, e.Entry.Text))
	case *runtime.EventConsoleAPICalled:
		var words []string
		for _, a := range e.Args {
			words = append(words, string(a.Value))
		}
		h.said = append(h.said, fmt.Sprintf("console.%s: %s", e.Type, strings.Join(words, " ")))
	case *runtime.EventExceptionThrown:
		h.said = append(h.said, "thrown: "+e.ExceptionDetails.Text)
	}
}

// hold fails where a page asked for anything but itself, or anything was said.
func (h *heard) hold(t *testing.T, page string) {
	t.Helper()
	h.Lock()
	defer h.Unlock()
	if len(h.requests) != 1 || h.requests[0] != page {
		t.Errorf("the browser asks for %q, and the page is %s alone", h.requests, page)
	}
	for _, s := range h.said {
		t.Errorf("the browser says %s", s)
	}
}
