package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// servePage runs `untrod open` in this process until t ends, and returns the address
// that lets one browser in.
func servePage(t *testing.T, args ...string) string {
	ctx, cancel := context.WithCancel(context.Background())
	r, w := io.Pipe()
	code := make(chan int, 1)
	go func() {
		code <- run(ctx, append([]string{"open", "--no-browser"}, args...), streams{w, io.Discard})
		w.Close()
	}()
	t.Cleanup(func() {
		cancel()
		require.Equal(t, exitDone, <-code)
	})
	address, err := bufio.NewReader(r).ReadString('\n')
	require.NoError(t, err)
	return strings.TrimSpace(address)
}

// sceneLogs writes the demonstration's scene and returns the paths of its logs.
func sceneLogs(t *testing.T) (paths []string) {
	dir := t.TempDir()
	s := quillonGreen()
	_, err := s.write(dir)
	require.NoError(t, err)
	for _, v := range s.visits {
		paths = append(paths, filepath.Join(dir, v.file))
	}
	return paths
}

// stages keeps which stages the claim went through.
const stages = `window.stages = []; new MutationObserver(() => {
  const c = document.querySelector(".claim");
  if (c.dataset.stage && window.stages.at(-1)?.[0] !== c.dataset.stage) window.stages.push([c.dataset.stage, c.textContent]);
}).observe(document.querySelector("#band"), { subtree: true, childList: true, attributes: true, characterData: true })`

// downloads has the browser save files without asking, and returns the folder.
func (b *tab) downloads() string {
	b.t.Helper()
	dir := b.t.TempDir()
	_, err := chromedp.CallBrowser(b.ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir,
	})
	require.NoError(b.t, err)
	return dir
}

// saved waits until a file of that pattern was downloaded whole.
func (b *tab) saved(dir, pattern string) (content []byte) {
	b.t.Helper()
	b.until(pattern+" to be saved", func() bool {
		paths, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil || len(paths) != 1 {
			return false
		}
		content, err = os.ReadFile(paths[0])
		return err == nil && len(content) > 0
	})
	return content
}

// From the empty page to what is taken along, by a person's clicks alone.
func TestBrowserFirstVisit(t *testing.T) {
	b := openTab(t, servePage(t, "--folder", t.TempDir()))
	js[bool](b, stages+" ?? true")
	b.sees("Drop the logs of your visits here", "None yet.")
	b.upload("Choose the logs", sceneLogs(t)...)
	b.sees("First steps: 1 of 5", "Where is the edge?", "4 visits")
	b.drawn()
	requireStages(t, js[[][]string](b, "window.stages"))
	takeOutline(b)
	b.click("button", "Next")
	drawThings(b)
	b.click("button", "Next")
	b.sees("First steps: 3 of 5")
	b.do(chromedp.Reload())
	b.sees("First steps: 3 of 5") // goes on where it was
	chooseHowAndSky(b)
	b.sees("First steps: 5 of 5")
	b.settles()
	b.click("button", "Done")
	b.seesNo("First steps")
	b.sees("At least ", "swept; most likely about ")
	takeAlong(b)
}

func takeOutline(b *tab) {
	b.click("button", "Drag the corners")
	b.has(1, "button", "Done")
	proposed := asks[struct {
		Datum lonLat
		Outer [][]float64
	}](b, "GET", "/api/outline?corners=16", nil)
	outer, m := proposed.Outer, onSheet(b)
	corner := westernmost(outer)
	m.drag(outer[corner][0], outer[corner][1], -5, 0)
	outer[corner][0] -= 5
	b.click("button", "Done")
	b.sees("The book has an outline.")
	b.drawn()
	g := groundNow(b)
	require.False(b.t, g.OwnOutline)
	require.Len(b.t, g.Boundary, 1)
	requireNear(b.t, moved(b.t, outer, proposed.Datum, g.Datum), g.Boundary[0].Outer)
}

func westernmost(ring [][]float64) (i int) {
	for j, p := range ring {
		if p[0] < ring[i][0] {
			i = j
		}
	}
	return i
}

func drawThings(b *tab) {
	pond := [][]float64{{20, -17}, {32, -17}, {32, -9}, {20, -9}}
	b.types("textbox", "Its name", "pond")
	b.click("button", "Draw a keep-out")
	m := onSheet(b)
	for _, p := range pond {
		m.click(p[0], p[1])
	}
	b.click("button", "Done")
	b.until("the pond", func() bool { return len(groundNow(b).Keepouts) == 1 })
	b.types("textbox", "Its name", "gate")
	b.click("button", "Point at a landmark")
	onSheet(b).click(-40, -20)
	b.until("the gate", func() bool { return len(groundNow(b).Landmarks) == 1 })
	g := groundNow(b)
	require.Equal(b.t, "pond", g.Keepouts[0].Name)
	requireNear(b.t, pond, g.Keepouts[0].Outer)
	require.Equal(b.t, "gate", g.Landmarks[0].Name)
	requireNear(b.t, [][]float64{{-40, -20}}, g.Landmarks[0].Points)
}

func chooseHowAndSky(b *tab) {
	b.sees("How do you search?")
	b.click("radio", "33 cm")
	b.click("radio", "1.6 m*")
	b.click("button", "Next")
	b.sees("How leafy was it?")
	b.click("radio", "Open*")
	b.until("the settings", func() bool {
		says := asks[struct{ Says map[string]string }](b, "GET", "/api/settings", nil).Says
		return says["coil"] == "33cm" && says["swing"] == "1.6m" && says["canopy"] == "open"
	})
	b.click("button", "Next")
}

// requireStages wants a rougher picture before the full one, each with a claim.
func requireStages(t *testing.T, seen [][]string) {
	order := []string{"logged", "rough", "full"}
	require.Greater(t, len(seen), 1, "the first picture does not wait for the full one")
	require.Equal(t, "full", seen[len(seen)-1][0])
	for i, s := range seen {
		require.Contains(t, order, s[0])
		require.NotEmpty(t, s[1])
		if i > 0 {
			require.Greater(t, slices.Index(order, s[0]), slices.Index(order, seen[i-1][0]), "it only gets better")
		}
	}
}

// takeAlong has the next visit drawn, and saves what a phone and a printer take.
func takeAlong(b *tab) {
	dir := b.downloads()
	b.click("tab", "Next visit")
	b.sees("Take it along")
	b.click("link", "GPX")
	requireRoutes(b.t, b.saved(dir, "next.gpx"))
	b.click("link", "Sheet to print, A4")
	pdf := b.saved(dir, "*.pdf")
	require.True(b.t, bytes.HasPrefix(pdf, []byte("%PDF")))
	require.True(b.t, bytes.HasSuffix(bytes.TrimSpace(pdf), []byte("%%EOF")))
}

// requireRoutes wants routes on the ground of the demonstration.
func requireRoutes(t *testing.T, gpx []byte) {
	var doc struct {
		Routes []struct {
			Points []struct {
				Lat float64 `xml:"lat,attr"`
				Lon float64 `xml:"lon,attr"`
			} `xml:"rtept"`
		} `xml:"rte"`
	}
	require.NoError(t, xml.Unmarshal(gpx, &doc))
	require.NotEmpty(t, doc.Routes)
	datum := quillonGreen().datum
	for _, r := range doc.Routes {
		require.NotEmpty(t, r.Points)
		for _, p := range r.Points {
			require.InDelta(t, datum.Lat, p.Lat, 0.001)
			require.InDelta(t, datum.Lon, p.Lon, 0.001)
		}
	}
}
