package browser

import (
	"context"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// Widths are the screens every page must fit, in CSS pixels: a small phone, a
// tablet, a laptop and a desk.
var Widths = []int64{360, 768, 1280, 1920}

// touchWidth is the width up to which a screen is taken for a phone or a tablet.
const touchWidth = 800

// wide tells how wide the page is, whether it hides what does not fit, and what
// sticks out. What lies in a box with its own scrolling sticks out of nothing.
const wide = `(() => {
  const root = document.documentElement;
  const width = root.clientWidth;
  const scrolls = (el) => {
    for (let p = el.parentElement; p && p !== document.body; p = p.parentElement) {
      if (getComputedStyle(p).overflowX !== "visible") return true;
    }
    return false;
  };
  const name = (el) => el.tagName.toLowerCase() + (el.id ? "#" + el.id : "") +
    (el.classList.length ? "." + [...el.classList].join(".") : "");
  const out = [...document.body.querySelectorAll("*")].filter((el) => {
    const r = el.getBoundingClientRect();
    return r.width > 1 && r.right > width + 1 && !scrolls(el);
  });
  return {
    page: root.scrollWidth,
    hides: [root, document.body].some((el) => ["hidden", "clip"].includes(getComputedStyle(el).overflowX)),
    out: out.slice(0, 5).map((el) => name(el) + " to " + Math.round(el.getBoundingClientRect().right)),
  };
})()`

type wideness struct {
	Page  int64    `json:"page"`
	Hides bool     `json:"hides"`
	Out   []string `json:"out"`
}

// NoSideScroll fails t for each width, in CSS pixels, at which the page in the
// tab must be scrolled sideways, or would have to be if it did not hide what
// does not fit. The tab is left at the last width.
func NoSideScroll(t testing.TB, ctx context.Context, widths ...int64) {
	t.Helper()
	for _, w := range widths {
		Resize(t, ctx, w)
		got, err := chromedp.Run(ctx, chromedp.Evaluate[wideness](wide))
		if err != nil {
			t.Fatalf("width %d: %v", w, err)
		}
		if got.Page > w || (got.Hides && len(got.Out) > 0) {
			t.Errorf("on a screen %d px wide the page is %d px wide; too wide: %s", w, got.Page, strings.Join(got.Out, ", "))
		}
	}
}

// paperWidth is what margins of 2 cm leave of an A4 page, CSS pixels.
const paperWidth = 642

// FitsPaper fails t when the page in the tab, as it prints, is wider than an A4 page.
func FitsPaper(t testing.TB, ctx context.Context) {
	t.Helper()
	show := func(medium string) {
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium}); err != nil {
			t.Fatalf("print: %v", err)
		}
	}
	show("print")
	defer show("")
	NoSideScroll(t, ctx, paperWidth)
}

// Resize makes the tab's screen so many CSS pixels wide, and as high as a phone
// or a laptop is. Narrow ones act as touch screens do, which scale a page that
// does not say that it fits.
func Resize(t testing.TB, ctx context.Context, width int64) {
	t.Helper()
	resize := chromedp.EmulateViewport(width, 800)
	if width <= touchWidth {
		resize = chromedp.EmulateViewport(width, 740, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	if err := chromedp.Do(ctx, resize); err != nil {
		t.Fatalf("width %d: %v", width, err)
	}
}
