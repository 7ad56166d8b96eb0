// Package browser lets tests look at pages in a real browser without a window:
// what they ask for, what they complain of, whether they fit a screen, and
// whether everybody can read them.
//
// One browser serves all tests of a package; each test has its own tab:
//
//	func TestMain(m *testing.M) { os.Exit(browser.Run(m)) }
//
//	func TestPage(t testing.TB) {
//		ctx := browser.Open(t)
//		browser.Visit(t, ctx, url)
//		browser.Axe(t, ctx)
//		browser.NoSideScroll(t, ctx, browser.Widths...)
//	}
package browser

import (
	"context"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// names are the programs that will do, best first.
var names = []string{"chromium", "chromium-browser", "google-chrome", "chrome"}

// patience is how long a tab may live. A page that hangs fails its test by this.
const patience = 5 * time.Minute

// shared is the browser of this test program, started by the first Open.
var shared struct {
	sync.Once
	ctx  context.Context
	stop func()
	err  error
}

// Run runs a package's tests, closes the browser if one was opened, and returns
// the exit code. Call it from TestMain; without it the browser is killed when
// the test program ends, and its folder stays behind.
func Run(m interface{ Run() int }) int {
	defer func() {
		if shared.stop != nil {
			shared.stop()
		}
	}()
	return m.Run()
}

// Open gives a new tab, which closes when t ends. It cannot reach the network,
// only files and servers on this machine. When t ends, it fails if a page asked
// for anything else, threw an error or wrote one to the console; complaints that
// hold one of the expected texts are let pass.
//
// Without a browser t is skipped; where UNTROD_REQUIRE_TOOLS is set it fails.
func Open(t testing.TB, expected ...string) context.Context {
	t.Helper()
	shared.Do(func() { start(t) })
	if shared.err != nil {
		lacking(t, "no browser: "+shared.err.Error())
	}
	ctx, cancel := context.WithTimeout(shared.ctx, patience)
	t.Cleanup(cancel)
	ctx, closeTab := chromedp.NewContext(ctx)
	t.Cleanup(closeTab)
	watch(t, ctx, expected)
	return ctx
}

// Visit loads url and waits until it and all it asks for are there.
func Visit(t testing.TB, ctx context.Context, url string) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.Navigate(url)); err != nil {
		t.Fatalf("%s: %v", url, err)
	}
}

// VisitFile is Visit for a file on disk.
func VisitFile(t testing.TB, ctx context.Context, path string) {
	t.Helper()
	Visit(t, ctx, fileURL(t, path))
}

func start(t testing.TB) {
	path, err := find()
	if err != nil {
		shared.err = err
		return
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path),
		chromedp.Flag("disable-gpu", true),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		// No name and no number but this machine's leads anywhere.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE [::1], EXCLUDE localhost"),
	)
	alloc, release := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(alloc)
	shared.ctx, shared.stop = ctx, func() { cancel(); release() }
	shared.err = chromedp.Do(ctx)
}

func find() (path string, err error) {
	for _, name := range names {
		if path, err = exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", err
}

// lacking ends t for want of a tool.
func lacking(t testing.TB, why string) {
	t.Helper()
	if os.Getenv("UNTROD_REQUIRE_TOOLS") != "" {
		t.Fatal(why)
	}
	t.Skip(why)
}
