package browser

import (
	"context"
	"fmt"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// complaints gathers what went wrong in a tab.
type complaints struct {
	sync.Mutex
	lines []string
}

func (c *complaints) add(line string) {
	c.Lock()
	defer c.Unlock()
	c.lines = append(c.lines, line)
}

// take returns what was gathered, less lines that hold one of the expected texts.
func (c *complaints) take(expected []string) []string {
	c.Lock()
	defer c.Unlock()
	return slices.DeleteFunc(slices.Clone(c.lines), func(line string) bool {
		return slices.ContainsFunc(expected, func(text string) bool { return strings.Contains(line, text) })
	})
}

// watch fails t at its end if the tab of ctx complained of something unexpected.
func watch(t testing.TB, ctx context.Context, expected []string) {
	t.Helper()
	var got complaints
	if err := chromedp.Listen(ctx, func(ev any) {
		if line := complaint(ev); line != "" {
			got.add(line)
		}
	}); err != nil {
		t.Fatalf("browser: %v", err)
	}
	t.Cleanup(func() {
		// Events come before the answer to a later command: asking anything
		// makes sure that all of them are here.
		_, _ = chromedp.Run(ctx, chromedp.Evaluate[int]("0"))
		for _, line := range got.take(expected) {
			t.Error(line)
		}
	})
}

// complaint puts an event that should not be into words; empty for all others.
func complaint(ev any) string {
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		return "script failed: " + thrown(e.ExceptionDetails)
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeAssert {
			return "console error: " + words(e.Args)
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError {
			return fmt.Sprintf("browser error: %s %s", e.Entry.Text, shortURL(e.Entry.URL))
		}
	case *network.EventRequestWillBeSent:
		if !local(e.Request.URL) {
			return "asked for something elsewhere: " + shortURL(e.Request.URL)
		}
	}
	return ""
}

func thrown(d *runtime.ExceptionDetails) string {
	text := d.Text
	if d.Exception != nil {
		text += " " + d.Exception.Description
	}
	return fmt.Sprintf("%s (%s:%d)", text, shortURL(d.URL), d.LineNumber+1)
}

func words(args []*runtime.RemoteObject) string {
	var out []string
	for _, a := range args {
		text := a.Description
		if text == "" {
			text = strings.Trim(string(a.Value), `"`)
		}
		out = append(out, text)
	}
	return strings.Join(out, " ")
}

// local tells whether an address needs no network.
func local(address string) bool {
	u, err := url.Parse(address)
	if err != nil {
		return false
	}
	switch u.Scheme {
	case "file", "data", "blob", "about":
		return true
	case "http", "ws":
		return slices.Contains([]string{"127.0.0.1", "localhost", "::1"}, u.Hostname())
	}
	return false
}

// shortURL cuts an address, which for a picture in the page may be all of it.
func shortURL(address string) string {
	return address[:min(len(address), 200)]
}

func fileURL(t testing.TB, path string) string {
	t.Helper()
	abs, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	return (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String()
}
