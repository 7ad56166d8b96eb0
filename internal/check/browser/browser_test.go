package browser_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
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

// pages are small pages, each with the faults its check must find.
var pages = map[string]string{
	"good":    `<p>Nothing wrong here.</p><script>document.title += "!"</script>`,
	"boxed":   `<div style="overflow-x: auto" tabindex="0" role="region" aria-label="x"><div style="width: 500px">x</div></div>`,
	"missing": `<img alt="none" src="/none.png">`,
	"complains": `<script>null.x</script><script>console.error("seventeen", 4)</script><img alt="none" src="/none.png">
<img alt="none" src="http://untrod.invalid/a.png"><img alt="none" src="http://192.0.2.7/a.png">`,
	"wide":   `<div style="width: 500px">x</div>`,
	"hidden": `<style>body { overflow-x: hidden }</style><div style="width: 500px">x</div>`,
	"paper":  `<style>@media print { p { width: 700px } }</style><p>x</p>`,
	"no alt": `<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">`,
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

func TestGoodPages(t *testing.T) {
	ctx, base := browser.Open(t), serve(t)
	browser.Visit(t, ctx, base+"good")
	title, err := chromedp.Run(ctx, chromedp.Title())
	require.NoError(t, err)
	require.Equal(t, "x!", title)
	browser.NoSideScroll(t, ctx, browser.Widths...)
	require.Empty(t, browser.Axe(t, ctx))
	require.Empty(t, browser.Axe(t, ctx), "and once more")
	browser.Visit(t, ctx, base+"boxed")
	browser.NoSideScroll(t, ctx, 360)
	require.Empty(t, browser.Axe(t, ctx), "on the next page too")
}

func TestFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a page.html")
	require.NoError(t, os.WriteFile(path, []byte(frame+pages["good"]), 0o600))
	ctx := browser.Open(t)
	browser.VisitFile(t, ctx, path)
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
	visit := func(testing.TB, context.Context) {} // no more than the visit itself
	scroll := func(t testing.TB, ctx context.Context) { browser.NoSideScroll(t, ctx, 360) }
	axe := func(t testing.TB, ctx context.Context) { browser.Axe(t, ctx) }
	base := serve(t)
	for name, c := range map[string]struct {
		check func(testing.TB, context.Context)
		want  []string
	}{
		"complains": {visit, []string{"script failed", "console error: seventeen 4", "404",
			"asked for something elsewhere: http://untrod.invalid/a.png", "asked for something elsewhere: http://192.0.2.7/a.png"}},
		"wide":   {scroll, []string{"the page is 508 px wide; too wide: div to 508"}},
		"hidden": {scroll, []string{"too wide: div to 508"}},
		"paper":  {browser.FitsPaper, []string{"the page is 708 px wide; too wide: p to 708"}},
		"no alt": {axe, []string{"axe: critical: image-alt"}},
	} {
		t.Run(name, func(t *testing.T) {
			r := &recorder{TB: t}
			ctx := browser.Open(r)
			browser.Visit(r, ctx, base+url.QueryEscape(name))
			c.check(r, ctx)
			found := r.end()
			for _, want := range c.want {
				require.Contains(t, found, want)
			}
		})
	}
}
