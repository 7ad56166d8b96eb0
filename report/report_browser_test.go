package report

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"untrod/internal/check/browser"
)

func TestMain(m *testing.M) { os.Exit(browser.Run(m)) }

// Every page works in a browser that is cut off: it asks for nothing and complains of
// nothing, fits every screen, and keeps nobody out.
func TestPagesInBrowser(t *testing.T) {
	ctx := browser.Open(t) // one tab for all: a page begins anew when it is visited
	for name, page := range map[string]func(testing.TB) []byte{
		"report": func(t testing.TB) []byte {
			r, s := fullReport(t)
			return []byte(reported(t, r, s))
		},
		"report, hostile names": func(t testing.TB) []byte {
			r, s := hostileGround(t)
			return []byte(reported(t, r, s))
		},
		"statement": func(t testing.TB) []byte {
			var out bytes.Buffer
			require.NoError(t, madeUp(t, nil, testKey(1)).WriteHTML(&out))
			return out.Bytes()
		},
		"share": func(t testing.TB) []byte {
			r, p := field().makeUnsure(t)
			s, err := shareOf(r, p, ShareSettings{TurnDeg: 71, Names: true})
			require.NoError(t, err)
			return shareFiles(t, s)["share.html"]
		},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "page.html")
			require.NoError(t, os.WriteFile(path, page(t), 0o600))
			browser.VisitFile(t, ctx, path)
			browser.Resize(t, ctx, 1280)
			require.Empty(t, browser.Axe(t, ctx))
			browser.NoSideScroll(t, ctx, browser.Widths...)
			browser.FitsPaper(t, ctx)
			browser.Resize(t, ctx, 360)
			require.Empty(t, browser.Axe(t, ctx))
		})
	}
}
