package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"untrod/internal/check/browser"
)

// untilSeen is how long a tab waits for what it is told to look for.
const untilSeen = time.Minute

// tab is a tab of a browser, used as a person uses it: what it clicks must be to be
// seen, named as somebody without sight would hear it, and not be covered.
type tab struct {
	t               *testing.T
	ctx             context.Context
	asked, answered lines // numbers of requests
}

// eyes find things by what they are and how they are called. A name that ends in *
// is the beginning of one.
const eyes = `window.eyes = (() => {
  const kinds = {
    button: "button:not([role])", tab: "[role=tab]", link: "a[href]", fold: "summary", heading: "h1, h2, h3",
    radio: "input[type=radio]", checkbox: "input[type=checkbox]", slider: "input[type=range]", number: "input[type=number]",
    textbox: "input:not([type]), input[type=text], input[type=search], textarea", choice: "select", map: "[role=application]",
  };
  const tidy = (text) => (text ?? "").replace(/\s+/g, " ").replaceAll(" :", ":").trim();
  const byID = (ids) => (ids ?? "").split(" ").map((id) => document.getElementById(id)?.innerText ?? "").join(" ");
  const named = (el) => tidy(el.getAttribute("aria-label")) || tidy(byID(el.getAttribute("aria-labelledby"))) ||
    tidy(el.labels?.[0]?.innerText) || tidy(el.innerText) || tidy(el.title);
  const fits = (name, want) => (want.endsWith("*") ? name.startsWith(want.slice(0, -1)) : name === want);
  const seen = (el) => el.checkVisibility({ visibilityProperty: true });
  const all = (kind, name) => [...document.querySelectorAll(kinds[kind])].filter((el) => seen(el) && fits(named(el), name));
  const wait = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });
  // A radio button may be drawn by its label.
  const place = (el) => {
    const own = el.getBoundingClientRect();
    const r = own.width < 4 && el.labels?.[0] ? el.labels[0].getBoundingClientRect() : own;
    return [r.x + r.width / 2, r.y + r.height / 2];
  };
  return {
    all, named,
    text: () => tidy(document.body?.innerText),
    // Where to click, or why not yet.
    async target(kind, name) {
      const found = all(kind, name);
      if (found.length !== 1) return { why: found.length + " of them are seen" };
      const el = found[0];
      if (el.disabled) return { why: "it is disabled" };
      el.scrollIntoView({ block: "nearest", inline: "nearest" });
      const [x, y] = place(el);
      await wait(30);
      if (String(place(el)) !== String([x, y])) return { why: "it moves" };
      const on = document.elementFromPoint(x, y);
      const mine = on && (el.contains(on) || on.contains(el) || [...(el.labels ?? [])].some((l) => l.contains(on)));
      return mine ? { x, y } : { why: "it is covered by " + (on?.outerHTML ?? "nothing").slice(0, 120) };
    },
  };
})()`

// openTab opens a tab at an address of the page, as wide as a laptop. When t ends it
// fails if the page wrote to the console, or asked anybody but its own server for
// anything; complaints that hold one of the expected texts are let pass. Trying the
// whole page takes minutes, so t is skipped where UNTROD_REQUIRE_TOOLS is not set.
func openTab(t *testing.T, address string, expected ...string) *tab {
	t.Helper()
	if os.Getenv("UNTROD_REQUIRE_TOOLS") == "" && os.Getenv("UNTROD_GALLERY") == "" {
		t.Skip("the page is tried in a browser where UNTROD_REQUIRE_TOOLS is set, as in .ci/run")
	}
	b := &tab{t: t, ctx: browser.Open(t, expected...)}
	b.watchWarnings(expected)
	b.watchHost(address)
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, cdppage.AddScriptToEvaluateOnNewDocument, cdppage.AddScriptToEvaluateOnNewDocumentParams{Source: eyes})
		return err
	}))
	b.prefer("light")
	browser.Resize(t, b.ctx, 1280)
	browser.Visit(t, b.ctx, address)
	return b
}

// prefer sets the system's light or dark, and keeps things from moving by themselves,
// for tests have no time to watch them.
func (b *tab) prefer(scheme string) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
	}})
	require.NoError(b.t, err)
}

// trial is what Chromium says when OpenLayers tries, once, which kind of canvas it can
// read faster.
const trial = "Multiple readback operations using getImageData"

// watchWarnings fails the test at its end when the page warned of something; errors
// are watched by package browser.
func (b *tab) watchWarnings(expected []string) {
	var warned lines
	require.NoError(b.t, chromedp.Listen(b.ctx, func(ev any) {
		switch e := ev.(type) {
		case *runtime.EventConsoleAPICalled:
			if e.Type == runtime.ConsoleAPICalledTypeWarning {
				warned.add(fmt.Sprintf("console warning: %s", e.Args[0].Value))
			}
		case *log.EventEntryAdded:
			if e.Entry.Level == log.EntryLevelWarning && !strings.Contains(e.Entry.Text, trial) {
				warned.add("browser warning: " + e.Entry.Text)
			}
		}
	}))
	b.t.Cleanup(func() {
		for _, line := range warned.all() {
			if !slices.ContainsFunc(expected, func(text string) bool { return strings.Contains(line, text) }) {
				b.t.Error(line)
			}
		}
	})
}

// watchHost fails the test at its end when anything was asked of another host.
func (b *tab) watchHost(address string) {
	ours := "http://" + mustURL(b.t, address).Host + "/"
	var elsewhere lines
	require.NoError(b.t, chromedp.Listen(b.ctx, func(ev any) {
		switch e := ev.(type) {
		case *network.EventRequestWillBeSent:
			inPage := strings.HasPrefix(e.Request.URL, "blob:") || strings.HasPrefix(e.Request.URL, "data:")
			if !inPage && !strings.HasPrefix(e.Request.URL, ours) {
				elsewhere.add(e.Request.URL)
			}
			if !inPage && e.Type != network.ResourceTypeEventSource {
				b.asked.add(string(e.RequestID))
			}
		case *network.EventLoadingFinished:
			b.answered.add(string(e.RequestID))
		case *network.EventLoadingFailed:
			b.answered.add(string(e.RequestID))
		}
	}))
	b.t.Cleanup(func() {
		require.NotEmpty(b.t, b.asked.all(), "the network was not watched")
		require.Empty(b.t, elsewhere.all(), "asked of somebody else")
	})
}

// quiet waits until everything the page has asked for is answered, and nothing more is
// asked for a while: it asks for a few pictures at a time.
func (b *tab) quiet() {
	b.t.Helper()
	still := 0
	b.until("answers to all questions", func() bool {
		answered := b.answered.all()
		still++
		for _, id := range b.asked.all() {
			if !slices.Contains(answered, id) {
				still = 0
			}
		}
		return still > 5
	})
}

// lines are texts that come from several places at once.
type lines struct {
	mu   sync.Mutex
	text []string
}

func (l *lines) add(line string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.text = append(l.text, line)
}

func (l *lines) all() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return append([]string{}, l.text...)
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, steps...))
}

// js is the value of a script; with args the script is a function that is called with
// them.
func js[T any](b *tab, script string, args ...any) T {
	b.t.Helper()
	value, err := tryJS[T](b, script, args...)
	require.NoError(b.t, err, script)
	return value
}

func tryJS[T any](b *tab, script string, args ...any) (value T, err error) {
	if len(args) > 0 {
		list, err := json.Marshal(args)
		if err != nil {
			return value, err
		}
		script = "(" + script + ")(..." + string(list) + ")"
	}
	return chromedp.Run(b.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
}

// until waits for ok, and tells what was waited for when it does not come.
func (b *tab) until(what string, ok func() bool) {
	b.t.Helper()
	for end := time.Now().Add(untilSeen); !ok(); time.Sleep(20 * time.Millisecond) {
		if b.ctx.Err() != nil || time.Now().After(end) {
			text, _ := tryJS[string](b, "eyes.text()")
			require.FailNow(b.t, "waited in vain for "+what, "the page says: %s", text)
		}
	}
}

// untilJS waits until a script is true; see js.
func (b *tab) untilJS(script string, args ...any) {
	b.t.Helper()
	b.until(fmt.Sprint(script, args), func() bool {
		yes, err := tryJS[bool](b, script, args...)
		return err == nil && yes
	})
}

// sees waits until all these words stand on the page.
func (b *tab) sees(words ...string) {
	b.t.Helper()
	for _, w := range words {
		b.untilJS("(words) => eyes.text().includes(words)", w)
	}
}

// seesNo waits until these words do not stand on the page.
func (b *tab) seesNo(words string) {
	b.t.Helper()
	b.untilJS("(words) => !eyes.text().includes(words)", words)
}

// has waits until so many things of a kind have a name.
func (b *tab) has(n int, kind, name string) {
	b.t.Helper()
	b.untilJS("(n, kind, name) => eyes.all(kind, name).length === n", n, kind, name)
}

type target struct {
	X, Y float64
	Why  string
}

// find waits until a thing can be clicked, and tells where.
func (b *tab) find(kind, name string) (at target) {
	b.t.Helper()
	why := ""
	defer func() {
		if b.t.Failed() {
			b.t.Logf("%s %q: %s", kind, name, why)
		}
	}()
	b.until(fmt.Sprintf("the %s %q", kind, name), func() bool {
		got, err := tryJS[target](b, "(kind, name) => eyes.target(kind, name)", kind, name)
		at, why = got, got.Why
		return err == nil && why == ""
	})
	return at
}

func (b *tab) click(kind, name string) {
	b.t.Helper()
	at := b.find(kind, name)
	b.do(chromedp.MouseClickXY(at.X, at.Y))
}

// types puts text in the place of what a field holds, and leaves the field.
func (b *tab) types(kind, name, text string) {
	b.t.Helper()
	b.click(kind, name)
	b.untilJS("document.activeElement.matches('input, textarea')")
	b.do(chromedp.Evaluate[chromedp.Void]("document.activeElement.select()"))
	b.press(text)
	js[bool](b, "document.activeElement.blur() ?? true")
}

// press presses keys one after the other.
func (b *tab) press(keys ...string) {
	b.t.Helper()
	for _, r := range strings.Join(keys, "") {
		b.key(r, 0)
	}
}

// key presses one key as a keyboard does: what it types is part of pressing it, so that a
// page which takes the key for itself keeps it from being typed as well.
func (b *tab) key(r rune, modifiers chromedp.Modifier) {
	b.t.Helper()
	events := kb.Encode(r)
	down, up := *events[0], *events[len(events)-1]
	if len(events) == 3 {
		down.Text, down.UnmodifiedText = events[1].Text, events[1].UnmodifiedText
	}
	for _, e := range []input.DispatchKeyEventParams{down, up} {
		e.Modifiers |= int64(modifiers)
		_, err := chromedp.Call(b.ctx, input.DispatchKeyEvent, e)
		require.NoError(b.t, err)
	}
}

// upload presses a button and chooses files in the dialog that it opens.
func (b *tab) upload(button string, paths ...string) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, cdppage.SetInterceptFileChooserDialog, cdppage.SetInterceptFileChooserDialogParams{Enabled: true})
	require.NoError(b.t, err)
	at := b.find("button", button)
	opened, err := chromedp.Run(b.ctx, chromedp.WaitEvent(cdppage.FileChooserOpened, nil, chromedp.MouseClickXY(at.X, at.Y)))
	require.NoError(b.t, err)
	_, err = chromedp.Call(b.ctx, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: paths, BackendNodeID: opened.BackendNodeID})
	require.NoError(b.t, err)
}

// asks puts a question to the server as the page would.
func asks[T any](b *tab, method, path string, doc any) T {
	b.t.Helper()
	return js[T](b, `async (method, path, doc) => {
	  const r = await fetch(path, { method, ...(doc === null ? {} : { body: JSON.stringify(doc), headers: { "Content-Type": "application/json" } }) });
	  if (!r.ok) throw new Error(method + " " + path + ": " + await r.text());
	  return r.json();
	}`, method, path, doc)
}

// settles waits until the program has worked everything out, and the page shows it.
func (b *tab) settles() {
	b.t.Helper()
	b.until("the full picture", func() bool {
		s, err := tryJS[struct {
			Stage string
			Work  struct{ Running bool }
		}](b, "fetch('/api/state').then((r) => r.json())")
		return err == nil && s.Stage == "full" && !s.Work.Running
	})
	b.untilJS("document.querySelector('.claim').dataset.stage === 'full'")
}

// drawn waits until the full picture is on the map, and nothing more is asked for.
func (b *tab) drawn() {
	b.t.Helper()
	b.settles()
	b.untilJS(`performance.getEntriesByType("resource").some((e) => e.name.includes("/tiles/"))`)
	b.quiet()
}

// written makes files for an upload, in the order of name, content, name, ...
func written(t *testing.T, named ...string) (paths []string) {
	dir := t.TempDir()
	for i := 0; i+1 < len(named); i += 2 {
		path := filepath.Join(dir, named[i])
		require.NoError(t, os.WriteFile(path, []byte(named[i+1]), 0o600))
		paths = append(paths, path)
	}
	return paths
}
