package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"

	"untrod/coverage"
)

const (
	barDelay = time.Second            // short runs show nothing
	barEvery = 100 * time.Millisecond // between redraws
	barWidth = 30
)

// progressBar draws on w when it is a terminal. Call done before anything else
// is printed there.
func progressBar(w io.Writer) (show coverage.Progress, done func()) {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	next, drawn := time.Now().Add(barDelay), false
	show = func(stage string, at, total int64) {
		if now := time.Now(); now.After(next) {
			next, drawn = now.Add(barEvery), true
			fmt.Fprint(w, "\r\x1b[K", barLine(stage, at, total))
		}
	}
	return show, func() {
		if drawn {
			fmt.Fprint(w, "\r\x1b[K")
		}
	}
}

// barLine is the bar as text; without a total it is the stage alone.
func barLine(stage string, at, total int64) string {
	if total <= 0 {
		return stage
	}
	n := int(barWidth * min(at, total) / total)
	return fmt.Sprintf("[%s%s] %3d%% %s", strings.Repeat("#", n), strings.Repeat(".", barWidth-n),
		100*min(at, total)/total, stage)
}
