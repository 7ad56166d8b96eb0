package browser_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"untrod/internal/check/browser"
)

func TestMain(m *testing.M) { os.Exit(browser.Run(m)) }

// pages are small pages, each with the fault its check must find.
var pages = map[string]string{
	"good":    `<p>Nothing wrong here.</p><script>document.title += "!"</script>`,
	"throws":  `<p>x</p><script>null.x</script>`,
	"logs":    `<p>x</p><script>console.error("seventeen", 4)</script>`,
	"missing": `<img alt="none" src="/none.png">`,
	"leaks":   `<img alt="none" src="http://untrod.invalid/a.png">`,
	"number":  `<img alt="none" src="http://192.0.2.7/a.png">`,
	"wide":    `<div style="width: 500px">x</div>`,
	"hidden":  `<style>body { overflow-x: hidden }</style><div style="width: 500px">x</div>`,
	"paper":   `<style>@media print { p { width: 700px } }</style><p>x</p>`,
	"boxed":   `<div style="overflow-x: auto" tabindex="0" role="region" aria-label="x"><div style="width: 500px">x</div></div>`,
	"no alt":  `<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">`,
}

const frame = `<!DOCTYPE html><html lang="en"><head><title>x</title><link rel="icon" href="data:,">
<meta name="viewport" content="width=device-width"></head><body><main><h1>x</h1>`

func serve(t *testing.T) string {
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, ok := pages[r.URL.Query().Get("p")]
		if !ok || r.URL.Path != "/" {
			http.NotFound(w, r)
			return
		}
		_, _ = w.Write([]byte(frame + body + "</main>"))
	}))
	t.Cleanup(s.Close)
	return s.URL + "/?p="
}

func TestGoodPage(t *testing.T) {
	ctx := browser.Open(t)
	browser.Visit(t, ctx, serve(t)+"good")
	title, err := chromedp.Run(ctx, chromedp.Title())
	require.NoError(t, err)
	require.Equal(t, "x!", title)
	browser.NoSideScroll(t, ctx, browser.Widths...)
	require.Empty(t, browser.Axe(t, ctx))
}

func TestFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a page.html")
	require.NoError(t, os.WriteFile(path, []byte(frame+pages["good"]), 0o600))
	ctx := browser.Open(t)
	browser.VisitFile(t, ctx, path)
	browser.NoSideScroll(t, ctx, 360)
}

func TestBoxWithItsOwnScrolling(t *testing.T) {
	ctx := browser.Open(t)
	browser.Visit(t, ctx, serve(t)+"boxed")
	browser.NoSideScroll(t, ctx, 360)
}

func TestExpectedComplaint(t *testing.T) {
	ctx := browser.Open(t, "404")
	browser.Visit(t, ctx, serve(t)+"missing")
}

// recorder is a test that may fail: it keeps what failed, and runs its clean-ups
// when told.
type recorder struct {
	testing.TB
	failures []string
	cleanups []func()
}

func (r *recorder) Error(args ...any)                 { r.failures = append(r.failures, fmt.Sprint(args...)) }
func (r *recorder) Errorf(format string, args ...any) { r.Error(fmt.Sprintf(format, args...)) }
func (r *recorder) Cleanup(f func())                  { r.cleanups = append(r.cleanups, f) }

func (r *recorder) end() string {
	for _, f := range slices.Backward(r.cleanups) {
		f()
	}
	return strings.Join(r.failures, "\n")
}

func TestFaults(t *testing.T) {
	for name, want := range map[string]string{
		"throws":  "script failed",
		"logs":    "console error: seventeen 4",
		"missing": "404",
		"leaks":   "asked for something elsewhere: http://untrod.invalid/a.png",
		"number":  "asked for something elsewhere: http://192.0.2.7/a.png",
		"wide":    "the page is 508 px wide; too wide: div to 508",
		"paper":   "the page is 708 px wide; too wide: p to 708",
		"hidden":  "too wide: div to 508",
		"no alt":  "axe: critical: image-alt",
	} {
		t.Run(name, func(t *testing.T) {
			r := &recorder{TB: t}
			ctx := browser.Open(r)
			browser.Visit(r, ctx, serve(t)+name)
			browser.NoSideScroll(r, ctx, 360)
			browser.FitsPaper(r, ctx)
			if name == "no alt" {
				browser.Axe(r, ctx)
			}
			require.Contains(t, r.end(), want)
		})
	}
}
