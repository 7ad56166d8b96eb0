package main

import (
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// panels are the tabs of the page, in their order.
var panels = []string{"Ground", "Visits", "Landmarks", "Finds", "Next visit", "Papers", "Settings", "Cautions"}

// TestBrowserDemo does what a person does with a book, each time in a new tab. All
// tabs look at one book of the demonstration, which each leaves as it was, but for
// what stands to be undone.
func TestBrowserDemo(t *testing.T) {
	address := servePage(t, "--folder", t.TempDir())
	page := strings.TrimSuffix(address, mustURL(t, address).RequestURI())
	t.Run("opens the example", func(t *testing.T) {
		b := openTab(t, address)
		b.click("button", "Look at an example")
		b.sees("Quillon Green")
		asks[any](b, "PUT", "/api/settings", map[string]string{"draws": "20", "cell": "30cm"})
		b.settles()
	})
	for _, c := range []struct {
		name     string
		do       func(b *tab)
		expected []string // complaints
	}{
		{"draws, edits, undoes", drawsEditsUndoes, nil},
		{"asks about a spot", asksAboutASpot, nil},
		{"replays the visits", replaysTheVisits, nil},
		{"plans by a slider", plansBySlider, nil},
		{"enters a find", entersAFind, nil},
		{"compares landmarks", comparesLandmarks, nil},
		{"is given bad files", isGivenBadFiles, []string{"422"}},
		{"has two tabs", hasTwoTabs, nil},
		{"reloads at work", reloadsAtWork, nil},
		{"presses slowly", pressesSlowly, nil},
		{"makes a paper", makesAPaper, nil},
		{"works by keys alone", worksByKeys, nil},
		{"shows script as text", showsScriptAsText, nil},
		{"fits a phone", fitsAPhone, nil},
		{"is open to everybody", isOpenToEverybody, nil},
	} {
		t.Run(c.name, func(t *testing.T) { c.do(openTab(t, page, c.expected...)) })
	}
}

// opens unfolds a part of a panel.
func (b *tab) opens(fold string) {
	b.t.Helper()
	b.click("fold", fold)
}

func drawsEditsUndoes(b *tab) {
	b.drawn()
	before := groundNow(b)
	b.opens("Keep-outs 2")
	b.click("button", "Draw a keep-out")
	bed := [][]float64{{-20, -30}, {-10, -30}, {-10, -24}, {-20, -24}}
	m := onSheet(b)
	for _, p := range bed {
		m.click(p[0], p[1])
	}
	b.click("button", "Done")
	b.types("textbox", "Name", "flower bed")
	b.click("button", "Add the keep-out")
	b.has(1, "button", "flower bed*")
	requireNear(b.t, bed, groundNow(b).Keepouts[2].Outer)

	b.click("button", "Move corners of flower bed")
	m = onSheet(b)
	m.drag(-20, -30, -3, 0)
	b.click("button", "Save")
	bed[0][0] -= 3
	b.until("the corner to move", func() bool { return groundNow(b).Keepouts[2].Outer[0][0] < -22 })
	requireNear(b.t, bed, groundNow(b).Keepouts[2].Outer)

	b.click("button", "Change flower bed")
	b.types("textbox", "Name", "rose bed")
	b.click("button", "Save")
	b.has(1, "button", "rose bed*")
	for range 3 {
		undo(b)
	}
	b.has(0, "button", "rose bed*")
	b.has(0, "button", "flower bed*")
	require.Equal(b.t, before.Keepouts, groundNow(b).Keepouts)
}

// howOften is how often the book was changed.
const howOften = "fetch('/api/state').then((r) => r.json()).then((s) => s.changes)"

// undo takes back the last change, and waits until the book is as before it and the
// button tells what is next.
func undo(b *tab) {
	b.t.Helper()
	was := js[int](b, howOften)
	b.click("button", "Undo*")
	b.until("the undo", func() bool { return js[int](b, howOften) > was })
	b.untilJS(`fetch("/api/state").then((r) => r.json()).then((s) => {
	  const el = document.querySelector("button.undo");
	  return s.book.undo === "" ? el.hidden : el.title === "Undo: " + s.book.undo;
	})`)
}

func (b *tab) undoWords() string {
	b.t.Helper()
	return js[string](b, `document.querySelector("button.undo").title`)
}

func asksAboutASpot(b *tab) {
	b.settles()
	m := onSheet(b)
	m.click(26, -13)
	b.sees("Keep-out", "26.0 m east, 13.0 m south of the middle")
	m.click(-30, -20)
	b.sees("% likely swept", "by the gate, winding")
	b.click("button", "Put this away")
	b.has(0, "button", "Put this away")
}

func replaysTheVisits(b *tab) {
	b.settles()
	b.sees("swept as logged after visit 4 of 4: oak row, winding")
	b.click("slider", "After which visit")
	b.press(kb.End, kb.ArrowLeft)
	b.sees("swept as logged after visit 3 of 4: round the bandstand", "After visit 3 of 4")
	b.untilJS(`performance.getEntriesByType("resource").some((e) => /\/tiles\/\d+\/swept-3\//.test(e.name))`)
	b.press(kb.Home)
	b.sees("Before the first visit")
	b.click("button", "Show today again")
	b.sees("swept as logged after visit 4 of 4")
	b.has(0, "button", "Show today again")
}

func plansBySlider(b *tab) {
	b.settles()
	b.click("tab", "Next visit")
	b.sees("of 3 h", "Take it along")
	stops := func() int { return js[int](b, "document.querySelectorAll('.stop').length") }
	many := stops()
	b.click("slider", "Hours you have")
	b.press(kb.Home)
	b.sees("of 30 min")
	require.Less(b.t, stops(), many)
	require.Positive(b.t, stops())
	b.press(kb.ArrowRight)
	b.sees("of 45 min")
	b.click("fold", "1 Gap*")
	b.sees("Lane by lane", "by compass")
}

func isGivenBadFiles(b *tab) {
	b.click("tab", "Visits")
	b.sees("4 visits")
	b.upload("Add logs", written(b.t, "note.gpx", "this is no log", "empty.fit", "")...)
	b.sees("note.gpx", "empty.fit", "Some of it was added.")
	b.click("button", "Put this message away")
	b.click("tab", "Ground")
	b.upload("From a file", written(b.t, "outline.geojson", "{")...)
	b.untilJS(`() => [...document.querySelectorAll("[role=alert]")].some((el) => el.innerText.includes("outline.geojson"))`, nil)
	b.click("tab", "Visits")
	b.sees("4 visits")
}

// What is done in one tab is to be seen in the other.
func hasTwoTabs(b *tab) {
	other := openTab(b.t, js[string](b, "location.origin"))
	before := b.undoWords()
	other.click("tab", "Settings")
	b.click("tab", "Settings")
	b.click("radio", "Some leaves*")
	other.untilJS("() => eyes.all('radio', 'Some leaves*')[0]?.checked ?? false", nil)
	other.has(1, "button", "Undo: set canopy light")
	b.click("tab", "Visits")
	b.sees("4 visits")
	b.click("button", "Drop oak row, winding")
	b.click("button", "Drop the visit")
	b.sees("3 visits")
	other.click("tab", "Visits")
	other.sees("3 visits")
	undo(other)
	b.sees("4 visits")
	undo(other)
	b.until("all to be undone", func() bool { return b.undoWords() == before })
	b.settles()
	other.settles()
	require.Equal(b.t, js[string](b, "document.querySelector('.claim').textContent"), js[string](other, "document.querySelector('.claim').textContent"))
}

func reloadsAtWork(b *tab) {
	b.click("tab", "Settings")
	b.click("radio", "Closed leaves*")
	b.do(chromedp.Reload())
	b.sees("Quillon Green")
	b.click("tab", "Settings")
	b.untilJS("() => eyes.all('radio', 'Closed leaves*')[0]?.checked ?? false", nil)
	b.settles()
	b.sees("At least ")
	undo(b)
	b.untilJS("() => eyes.all('radio', 'Open*')[0]?.checked ?? false", nil)
	b.settles()
}

// pressesSlowly holds a button down while the page shows how far the work is: it must
// be the same button when it is let go.
func pressesSlowly(b *tab) {
	b.drawn()
	before := b.undoWords()
	asks[any](b, "PUT", "/api/settings", map[string]string{"canopy": "dense"})
	b.has(1, "button", "Undo: set canopy dense")
	at := b.find("button", "Undo: set canopy dense")
	const work = "(document.querySelector('.work')?.innerText + document.querySelector('progress')?.value)"
	was := js[string](b, work)
	left := chromedp.ButtonType(input.MouseButtonLeft)
	b.do(chromedp.MouseEvent(chromedp.MousePressed, at.X, at.Y, left, chromedp.ClickCount(1)))
	b.until("the work to go on", func() bool { return js[string](b, work) != was })
	b.do(chromedp.MouseEvent(chromedp.MouseReleased, at.X, at.Y, left, chromedp.ClickCount(1)))
	b.until("the undo", func() bool { return b.undoWords() == before })
	b.settles()
}

func makesAPaper(b *tab) {
	dir := b.downloads()
	b.click("tab", "Papers")
	b.opens("Field sheet")
	b.types("textbox", "Where the site is, for the emergency box", "the lane by the ford")
	b.click("button", "Make the sheet")
	b.click("link", "sheet.pdf")
	require.Equal(b.t, "%PDF", string(b.saved(dir, "sheet.pdf")[:4]))
}

func entersAFind(b *tab) {
	const name = "thimble in the hedge"
	b.click("tab", "Finds")
	b.click("button", "Add a find")
	b.types("textbox", "Name", name)
	b.click("button", "Add the find")
	b.has(1, "button", "Change: "+name)
	undo(b)
	b.has(0, "button", "Change: "+name)
}

func comparesLandmarks(b *tab) {
	b.settles()
	b.click("tab", "Landmarks")
	b.sees("bandstand footing", "old oak row")
}
