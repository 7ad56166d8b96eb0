package web

import (
	"cmp"
	"context"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"untrod/site/book"
)

// stamp tells one state of a file from the next: its size, its time, and the counter
// that SQLite keeps at byte 24 (https://www.sqlite.org/fileformat.html section
// 1.3.7), for times can be coarse. The zero stamp is that of no file.
type stamp struct {
	size    int64
	changed time.Time
	counter [4]byte
}

func stampOf(path string) (s stamp) {
	f, err := os.Open(path)
	if err != nil {
		return stamp{}
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return stamp{}
	}
	s.size, s.changed = info.Size(), info.ModTime()
	_, _ = io.ReadFull(io.NewSectionReader(f, 24, 4), s.counter[:]) // a shorter file has none
	return s
}

// notice takes up what the book's file is now, and reports whether it has changed.
// Whoever calls it holds d.file.
func (d *desk) notice(path string) bool {
	d.mu.Lock()
	before := d.seen
	d.mu.Unlock()
	now := stampOf(path)
	if now == before {
		return false
	}
	what, err := readAbout(path)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.seen = now
	d.changes++
	if err == nil {
		d.about = what
	}
	return true
}

// watch works the book out anew when another program has changed it, as long as
// somebody listens.
func (d *desk) watch(every time.Duration, heard func() bool) {
	for tick := time.Tick(every); ; {
		select {
		case <-tick:
			if heard() {
				d.glance()
			}
		case <-d.ctx.Done():
			return
		}
	}
}

func (d *desk) glance() {
	if !d.file.TryLock() {
		return // it is being changed from here
	}
	defer d.file.Unlock()
	path, err := d.bookPath()
	if err == nil && d.notice(path) {
		d.giveUp()
		d.assess()
	}
}

// readAbout reads what the state tells of a book.
func readAbout(path string) (a about, err error) {
	err = withBook(path, book.View, func(b *book.Book) error {
		s, err := b.Site()
		if err == nil && s != nil {
			a.name = s.Name
		}
		a.name = cmp.Or(a.name, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)))
		says, saysErr := b.Settings()
		a.units = cmp.Or(says["units"], "metric")
		undo, undoErr := b.LastChange()
		a.undo = undo
		return errors.Join(err, saysErr, undoErr)
	})
	return a, err
}

// bookProblem says what an error with a book means to the person at the page. nil and
// problems stay as they are.
func bookProblem(path string, err error) error {
	var p *problem
	if err == nil || errors.As(err, &p) || errors.Is(err, context.Canceled) {
		return err
	}
	p = &problem{status: http.StatusUnprocessableEntity, text: strings.ReplaceAll(err.Error(), path, filepath.Base(path)), cause: err}
	switch {
	case errors.Is(err, book.ErrHeld):
		p.status, p.hints = http.StatusLocked, []string{"another program is changing the book: wait until it is done, then try again"}
	case errors.Is(err, fs.ErrNotExist):
		p.status, p.text = http.StatusNotFound, filepath.Base(path)+" is not there any more"
		p.hints = []string{"put it back, or open another book"}
	case errors.Is(err, fs.ErrPermission):
		p.status, p.hints = http.StatusForbidden, []string{"the file or its folder may not be read or changed: ask whoever owns it, or work on a copy"}
	}
	return p
}
