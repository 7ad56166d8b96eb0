package main

import (
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"
)

// reach presses Tab, or Shift and Tab, until the focus is on a thing, which must be
// seen to have it.
func (b *tab) reach(kind, name string, modifiers chromedp.Modifier) {
	b.t.Helper()
	const here = `(kind, name) => eyes.all(kind, name).includes(document.activeElement)`
	for range 150 {
		if js[bool](b, here, kind, name) {
			b.seesFocus(kind + " " + name)
			return
		}
		b.key([]rune(kb.Tab)[0], modifiers)
	}
	require.FailNow(b.t, "no way by keys to the "+kind+" "+name, "the focus is on %s", js[string](b, "eyes.named(document.activeElement)"))
}

// seesFocus wants something round what has the focus, or on it, that shows it.
func (b *tab) seesFocus(what string) {
	b.t.Helper()
	require.True(b.t, js[bool](b, `(() => {
	  const s = getComputedStyle(document.activeElement);
	  return document.activeElement.matches(":focus-visible") && (parseFloat(s.outlineWidth) >= 2 && s.outlineStyle !== "none" || s.boxShadow !== "none");
	})()`), "the focus on %s is not seen", what)
}

// worksByKeys never touches the mouse.
func worksByKeys(b *tab) {
	b.drawn()
	asks[any](b, "POST", "/api/books/close", map[string]string{})
	b.has(1, "button", "Look at an example")
	b.reach("button", "Look at an example", 0)
	b.press(kb.Enter)
	b.sees("Quillon Green")
	b.settles()

	b.reach("tab", "Ground", 0)
	b.press(kb.ArrowDown)
	b.sees("4 visits")
	b.press(kb.ArrowUp)
	b.sees("Replay the visits")

	b.reach("map", "Map of the ground", chromedp.ModifierShift)
	b.press(kb.ArrowLeft, kb.ArrowLeft, kb.ArrowLeft, kb.Enter) // away from finds
	b.has(1, "button", "Put this away")
	at := b.spotPlace()
	b.press(kb.ArrowUp, kb.ArrowUp, kb.Enter)
	b.until("another spot", func() bool { return b.spotPlace() != at })
	b.press(kb.Escape)
	b.has(0, "button", "Put this away")

	b.reach("fold", "Landmarks and marks 4", 0)
	b.press(kb.Enter)
	b.reach("button", "Add a point", 0)
	b.press(kb.Enter)
	b.untilJS(`document.activeElement.matches(".map")`)
	b.press(kb.ArrowLeft, kb.ArrowDown, kb.Enter)
	b.untilJS(`document.activeElement.matches("input")`)
	b.press("well", kb.Enter)
	b.has(1, "button", "well*")
	require.Len(b.t, groundNow(b).Landmarks, 5)
	b.reach("button", "Undo*", chromedp.ModifierShift)
	b.press(kb.Enter)
	b.has(0, "button", "well*")
	require.Len(b.t, groundNow(b).Landmarks, 4)
}

// spotPlace is what the card of a spot says of its place.
func (b *tab) spotPlace() string {
	b.t.Helper()
	return js[string](b, `document.querySelector(".spot-place")?.textContent ?? ""`)
}
