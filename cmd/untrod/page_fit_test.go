package main

import (
	"strings"

	"github.com/stretchr/testify/assert"

	"untrod/internal/check/browser"
)

// phone is the width of a small phone, CSS pixels; its height is 740.
const phone = 360

// boxes are those in the panels that must be scrolled sideways, but for the tabs and
// for what is as it was written.
const boxes = `[...document.querySelectorAll("#side, #side *")].filter((el) => el.scrollWidth > el.clientWidth + 1 &&
  ["auto", "scroll"].includes(getComputedStyle(el).overflowX) && !el.matches("[role=tablist], pre, [role=region]"))
  .map((el) => el.tagName.toLowerCase() + "." + el.className + " " + el.innerText.slice(0, 60))`

// fitsAPhone looks at every panel on a small screen: nothing is scrolled sideways, and
// what is touched is large enough to hit.
func fitsAPhone(b *tab) {
	browser.Resize(b.t, b.ctx, phone)
	b.settles()
	for _, name := range panels {
		b.look(name)
		b.fits(name)
		assert.Empty(b.t, js[[]string](b, small), "%s has what is too small to touch", name)
	}
	b.firstSteps(b.fits)
}

// fits fails the test when a view must be scrolled sideways on a phone, also within.
func (b *tab) fits(view string) {
	b.t.Helper()
	browser.NoSideScroll(b.t, b.ctx, phone)
	assert.Empty(b.t, js[[]string](b, boxes), "%s must be scrolled sideways", view)
}

// small are the controls under 24 points high or wide (WCAG 2.2, 2.5.8); those in a line of
// words are as high as the words.
const small = `[...document.querySelectorAll("#side button, #side input, #side select, #side summary, #side a.button, #band button, .map-buttons button")]
  .filter((el) => el.checkVisibility({ visibilityProperty: true }) && !el.matches(".link, .unseen"))
  .map((el) => [el, el.matches("input[type=radio], input[type=checkbox]") && el.labels[0] ? el.labels[0] : el])
  .filter(([, box]) => { const r = box.getBoundingClientRect(); return r.width > 0 && (r.width < 23.5 || r.height < 23.5); })
  .map(([el, box]) => eyes.named(el) + " " + Math.round(box.getBoundingClientRect().width) + " x " + Math.round(box.getBoundingClientRect().height))`

// firstSteps goes through the first steps and looks at each.
func (b *tab) firstSteps(look func(step string)) {
	b.t.Helper()
	b.click("tab", "Settings")
	b.click("button", "Go through the first steps again")
	for _, step := range []string{"1 of 5", "2 of 5", "3 of 5", "4 of 5", "5 of 5"} {
		b.sees("First steps: " + step)
		look(step)
		if strings.HasPrefix(step, "5") {
			b.click("button", "Done")
		} else {
			b.click("button", "Next")
		}
	}
	b.seesNo("First steps: ")
}

// isOpenToEverybody checks every panel for barriers, light and dark, and what comes up
// over them.
func isOpenToEverybody(b *tab) {
	b.settles()
	for _, scheme := range []string{"dark", "light"} {
		b.prefer(scheme)
		b.untilJS("(scheme) => document.documentElement.dataset.theme === scheme", scheme)
		for _, name := range panels {
			b.look(name)
			browser.Axe(b.t, b.ctx)
		}
	}
	b.firstSteps(func(string) { browser.Axe(b.t, b.ctx) })
	b.click("tab", "Finds")
	b.click("button", "Add a find")
	browser.Axe(b.t, b.ctx)
	b.click("button", "Cancel")
	b.click("tab", "Visits")
	b.click("button", "Drop oak row, winding")
	b.sees("Its log leaves the book as well")
	browser.Axe(b.t, b.ctx)
	b.click("button", "Cancel")
	b.drawn()
	asks[any](b, "POST", "/api/books/close", map[string]string{})
	b.sees("Drop the logs of your visits here")
	browser.Axe(b.t, b.ctx)
	browser.NoSideScroll(b.t, b.ctx, browser.Widths...)
}
