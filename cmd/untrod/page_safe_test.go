package main

import (
	"bufio"
	"os"
	"os/exec"
	"strings"
	"testing"

	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/require"

	"untrod/internal/check/browser"
)

// evil would show if any of it were taken for more than text.
const evil = `<img src=x onerror=alert(1)><script>alert(2)</script>`

// showsScriptAsText gives things names that are script, and looks at every panel.
func showsScriptAsText(b *tab) {
	var dialogs lines
	require.NoError(b.t, chromedp.Listen(b.ctx, func(ev any) {
		if e, ok := ev.(*cdppage.EventJavascriptDialogOpening); ok {
			dialogs.add(e.Message)
		}
	}))
	was := js[int](b, howOften)
	log, err := os.ReadFile(sceneLogs(b.t)[0])
	require.NoError(b.t, err)
	gpx := strings.NewReplacer("by the gate, winding", "<![CDATA["+evil+"]]>", "2026-", "2025-").Replace(string(log))
	const file = `<img src=x onerror=alert(3)>.gpx`
	b.click("tab", "Visits")
	b.upload("Add logs", written(b.t, file, gpx)...)
	b.has(1, "button", "Drop "+evil)
	namesLandmark(b)
	namesFind(b)
	browser.Resize(b.t, b.ctx, phone)
	for _, name := range panels {
		b.look(name)
		b.fits(name) // such a name is long as well, with few places to break it
		require.Equal(b.t, 0, js[int](b, `document.querySelectorAll("img[src=x], body script, [onerror]").length`), name)
	}
	browser.Resize(b.t, b.ctx, 1280)
	b.click("tab", "Visits")
	b.sees(evil, "_img src=x onerror=alert(3)_.gpx") // no name for a file on every system
	require.Empty(b.t, dialogs.all())
	for js[int](b, howOften)-was < 6 {
		undo(b)
	}
	b.has(0, "button", "Drop "+evil)
}

func namesLandmark(b *tab) {
	b.click("tab", "Ground")
	b.opens("Landmarks and marks *")
	b.click("button", "Add a point")
	onSheet(b).click(0, 20)
	b.types("textbox", "Name", evil)
	b.click("button", "Add the landmark")
	b.has(1, "button", evil)
}

func namesFind(b *tab) {
	b.click("tab", "Finds")
	b.click("button", "Add a find")
	b.types("textbox", "Name", evil)
	b.click("button", "Add the find")
	b.has(1, "button", "Change: "+evil)
}

// look opens a panel with all that is folded in it, and waits until it stands.
func (b *tab) look(panel string) {
	b.t.Helper()
	b.click("tab", panel)
	b.untilJS(`(panel) => {
	  const el = document.querySelector("[role=tabpanel]:not([hidden])");
	  for (const d of el.querySelectorAll("details")) {
	    d.removeAttribute("name"); // those of one name would close each other
	    d.open = true;
	  }
	  return el.innerText.includes(panel) && el.innerText.length > 60 && !el.querySelector("[aria-busy=true]");
	}`, panel)
}

// untrodAt starts the program itself, to be killed, and returns the address.
func untrodAt(t *testing.T, args ...string) (address string, kill func()) {
	c := exec.Command("untrod", append([]string{"open", "--no-browser"}, args...)...)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	kill = func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	}
	t.Cleanup(kill)
	address, err = bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	return strings.TrimSpace(address), kill
}

// A page whose program was killed says so, and says how to go on; what was done is
// kept.
func TestBrowserAfterAKill(t *testing.T) {
	folder := t.TempDir()
	address, kill := untrodAt(t, "--folder", folder)
	b := openTab(t, address, "net::ERR_", "403")
	b.types("textbox", "What do you call the site?", "Ford")
	b.press(kb.Tab)
	b.click("button", "Start it")
	b.has(1, "tab", "Visits")
	b.click("tab", "Settings")
	b.click("radio", "33 cm")
	b.has(1, "button", "Undo: set coil 33cm*")
	kill()
	b.sees("Waiting for untrod to answer")
	b.click("radio", "38 cm")
	b.sees("untrod does not answer", "start it again and open the address it prints")

	again, _ := untrodAt(t, "--folder", folder, "--port", mustURL(t, address).Port())
	b.sees("his page is no longer open", "start untrod open")
	b.do(chromedp.Navigate(again))
	b.click("button", "Ford*")
	b.click("tab", "Settings")
	b.untilJS("() => eyes.all('radio', '33 cm')[0]?.checked ?? false", nil)
}
