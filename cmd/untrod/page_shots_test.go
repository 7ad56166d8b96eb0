package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"untrod/internal/check/browser"
)

// TestBrowserGallery writes pictures of every view into the folder UNTROD_GALLERY, for
// eyes: on a laptop, on a phone, and dark.
func TestBrowserGallery(t *testing.T) {
	dir := os.Getenv("UNTROD_GALLERY")
	if dir == "" {
		t.Skip("set UNTROD_GALLERY to a folder to have pictures of the page")
	}
	require.NoError(t, os.MkdirAll(dir, 0o777))
	address := servePage(t, "--folder", t.TempDir())
	page := strings.TrimSuffix(address, mustURL(t, address).RequestURI())
	t.Run("start", func(t *testing.T) {
		b := openTab(t, address)
		b.sees("None yet.")
		eachLook(b, func(look string) { b.shoot(dir, "start-"+look) })
		b.click("button", "Look at an example")
		b.settles()
		asks[any](b, "POST", "/api/finds", map[string]any{
			"datum": quillonGreen().datumDoc(), "at": []float64{3, 12}, "name": "buckle", "verdict": "keeper", "material": "brass", "depth_m": 0.14, "time": "2026-05-02T10:20:00Z",
		})
	})
	t.Run("views", func(t *testing.T) {
		b := openTab(t, page)
		b.drawn()
		eachLook(b, func(look string) { shootViews(b, dir, look) })
	})
}

// datumDoc is the scene's datum as the page sends one.
func (s *scene) datumDoc() map[string]float64 {
	return map[string]float64{"lon": s.datum.Lon, "lat": s.datum.Lat}
}

// eachLook shows the page on a laptop, on a phone, and on a laptop in the dark.
func eachLook(b *tab, shoot func(look string)) {
	for _, look := range []string{"laptop", "phone", "dark"} {
		b.prefer("light")
		width := int64(1280)
		switch look {
		case "phone":
			width = phone
		case "dark":
			b.prefer("dark")
		}
		browser.Resize(b.t, b.ctx, width)
		shoot(look)
	}
	b.prefer("light")
	browser.Resize(b.t, b.ctx, 1280)
}

func shootViews(b *tab, dir, look string) {
	for _, name := range panels {
		b.click("tab", name)
		b.untilJS(`!document.querySelector("[role=tabpanel]:not([hidden]) [aria-busy=true]")`)
		b.shoot(dir, name+"-"+look)
	}
	b.firstSteps(func(step string) { b.shoot(dir, "steps-"+step[:1]+"-"+look) })
	b.click("tab", "Visits")
	b.click("button", "Drop oak row, winding")
	b.sees("Its log leaves the book as well")
	b.shoot(dir, "question-"+look)
	b.click("button", "Cancel")
	b.click("tab", "Finds")
	b.click("button", "Add a find")
	b.shoot(dir, "find-"+look)
	b.click("button", "Cancel")
	b.click("tab", "Ground")
}

func (b *tab) shoot(dir, name string) {
	b.t.Helper()
	b.quiet()
	picture, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	require.NoError(b.t, err)
	path := filepath.Join(dir, strings.ToLower(strings.ReplaceAll(name, " ", "-"))+".png")
	require.NoError(b.t, os.WriteFile(path, picture, 0o666))
}
