package browser

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// axePath is where axe-core lies, from the top of the module.
const axePath = "web/ui/node_modules/axe-core/axe.min.js"

// axeRun runs the rules of WCAG 2.0 to 2.2, A and AA, and of good practice.
const axeRun = `axe.run({runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
  r.violations.map((v) => ({
    rule: v.id, impact: v.impact, help: v.help,
    where: v.nodes.slice(0, 5).map((n) => n.target.join(" ") + ": " + (n.failureSummary || "")),
  })))`

// Finding is a rule of axe that the page breaks.
type Finding struct {
	Rule   string   `json:"rule"`
	Impact string   `json:"impact"` // minor, moderate, serious or critical
	Help   string   `json:"help"`
	Where  []string `json:"where"` // the first five places
}

func (f Finding) String() string {
	return fmt.Sprintf("axe: %s: %s: %s\n  %s", f.Impact, f.Rule, f.Help, strings.Join(f.Where, "\n  "))
}

// Axe checks the page in the tab for barriers, as it is now and at its present
// width. Serious and critical findings fail t; the others are logged. All are
// returned, for a test that wants none at all.
//
// Without axe-core t is skipped; where UNTROD_REQUIRE_TOOLS is set it fails.
func Axe(t testing.TB, ctx context.Context) []Finding {
	t.Helper()
	there, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("window.axe !== undefined"))
	if err == nil && !there { // this page has not been checked yet
		err = chromedp.Do(ctx, chromedp.Evaluate[chromedp.Void](axe(t)))
	}
	if err != nil {
		t.Fatalf("axe: %v", err)
	}
	found, err := chromedp.Run(ctx, chromedp.Evaluate[[]Finding](axeRun, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatalf("axe: %v", err)
	}
	for _, f := range found {
		if f.Impact == "serious" || f.Impact == "critical" {
			t.Error(f)
		} else {
			t.Log(f)
		}
	}
	return found
}

// axe reads axe-core from where the page's build tools put it.
func axe(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for !exists(filepath.Join(dir, "go.mod")) {
		if dir == filepath.Dir(dir) {
			t.Fatal("axe: no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	script, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(axePath)))
	if err != nil {
		lacking(t, "no axe-core: run npm ci in web/ui")
	}
	return string(script)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
