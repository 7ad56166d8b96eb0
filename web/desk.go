package web

import (
	"context"
	"errors"
	"sync"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// shown is what was worked out from the book at one moment. It is never changed once
// it is published, so that many may read it at a time.
type shown struct {
	rev    int // new with every shown: pictures of one rev never change
	stage  string
	result *coverage.Result
	walks  []track.Walk // of result.Sessions, in their order, in metres of result.Frame
	finds  []site.Find
	units  report.Units
	says   map[string]string
	rests  footing
	once   lazy // what is made of it when first asked for
}

// desk is the open book and what was worked out from it. The book's file is opened
// for each look, each change and each assessment and closed again, so that the
// command line and another page can work on it as well.
type desk struct {
	lent Lent
	tell func() // something a page shows has changed; must not block
	bug  func(cause any, stack []byte) error
	ctx  context.Context
	// file is held to write by whatever changes the book or puts another on the desk,
	// and to read by whatever reads it but the assessment, which a change gives up.
	file sync.RWMutex

	mu      sync.Mutex
	path    string // of the open book; "" when none is
	seen    stamp  // of its file, when it was last read
	about   about
	changes int // of the book, since the program started
	rev     int // of the last shown
	shown   *shown
	work    work
	cancel  context.CancelFunc // of the assessment under way
	done    chan struct{}      // closed when it has let go of the book
}

// about is what the state tells of the open book.
type about struct{ name, undo, units string }

// work is how far the assessment under way is, or why there is none.
type work struct {
	Running bool
	Stage   string // of the result being made
	Doing   string // in plain words
	Done    int64
	Total   int64
	Failed  error // of the last assessment, nil when it went well
	Stopped bool  // by the user, before the full result
}

func newDesk(ctx context.Context, lent Lent, tell func(), bug func(any, []byte) error) *desk {
	return &desk{ctx: ctx, lent: lent, tell: tell, bug: bug}
}

// bookPath is the path of the open book.
func (d *desk) bookPath() (string, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.path == "" {
		return "", errNoBook
	}
	return d.path, nil
}

// current is the latest result.
func (d *desk) current() (*shown, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch {
	case d.path == "":
		return nil, errNoBook
	case d.shown == nil && d.work.Failed != nil:
		return nil, d.work.Failed
	case d.shown == nil:
		return nil, errNothing
	}
	return d.shown, nil
}

// past reports whether a result of that number was shown before.
func (d *desk) past(rev int) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return 0 < rev && rev <= d.rev && (d.shown == nil || rev != d.shown.rev)
}

// open puts another book on the desk, or none. What cannot be read is refused, and
// the book before stays.
func (d *desk) open(path string) error {
	d.file.Lock()
	defer d.file.Unlock()
	var what about
	seen := stampOf(path)
	if path != "" {
		var err error
		if what, err = readAbout(path); err != nil {
			return err
		}
	}
	d.giveUp()
	d.mu.Lock()
	d.path, d.seen, d.about, d.shown = path, seen, what, nil
	d.changes++
	d.mu.Unlock()
	d.assess()
	return nil
}

// look lets f read the book, which nothing here changes meanwhile.
func (d *desk) look(f func(*book.Book) error) error {
	d.file.RLock()
	defer d.file.RUnlock()
	path, err := d.bookPath()
	if err != nil {
		return err
	}
	return withBook(path, book.View, f)
}

// change lets f change the book, one change at a time, and works everything out
// anew. An assessment under way is given up before, for it reads the book.
func (d *desk) change(f func(path string) error) error {
	d.file.Lock()
	defer d.file.Unlock()
	path, err := d.bookPath()
	if err != nil {
		return err
	}
	gaveUp := d.giveUp()
	err = bookProblem(path, f(path))
	if d.notice(path) || gaveUp {
		d.assess()
	}
	return err
}

// edit is change for what needs the book open to write; what names it for undo, and
// may be "" where f names it itself.
func (d *desk) edit(what string, f func(*book.Book) error) error {
	return d.change(func(path string) error {
		return withBook(path, book.Open, func(b *book.Book) error {
			if what != "" {
				if err := b.Begin(what); err != nil {
					return err
				}
			}
			return f(b)
		})
	})
}

func withBook(path string, open func(string) (*book.Book, error), f func(*book.Book) error) (err error) {
	b, err := open(path)
	if err != nil {
		return bookProblem(path, err)
	}
	defer func() { err = bookProblem(path, errors.Join(err, b.Close())) }() // also when f panics: the page goes on
	return f(b)
}

// assess begins to work everything out anew, in stages, each shown as it is done.
// Whoever calls it holds d.file and has given up what was under way.
func (d *desk) assess() {
	ctx, cancel := context.WithCancel(d.ctx)
	d.mu.Lock()
	path, done := d.path, make(chan struct{})
	d.cancel, d.done, d.work = cancel, done, work{Running: path != ""}
	d.mu.Unlock()
	d.tell()
	if path == "" {
		close(done)
		return
	}
	go func() {
		defer close(done)
		d.end(ctx, path, d.stages(ctx, path))
	}()
}

// giveUp ends the assessment under way, and waits until it has let go of the book.
func (d *desk) giveUp() (was bool) {
	d.mu.Lock()
	cancel, done := d.cancel, d.done
	was = d.work.Running
	d.mu.Unlock()
	if done != nil {
		cancel()
		<-done
	}
	return was
}

// stop gives up the assessment under way; what is shown stays.
func (d *desk) stop() {
	d.mu.Lock()
	if d.work.Running {
		d.cancel()
		d.work.Running, d.work.Stopped = false, true
	}
	d.mu.Unlock()
	d.tell()
}

// again works everything out anew.
func (d *desk) again() error {
	d.file.Lock()
	defer d.file.Unlock()
	path, err := d.bookPath()
	if err != nil {
		return err
	}
	d.giveUp()
	d.notice(path)
	d.assess()
	return nil
}

// end notes how an assessment ended, unless it was given up.
func (d *desk) end(ctx context.Context, path string, err error) {
	d.mu.Lock()
	if ctx.Err() == nil {
		d.work = work{Failed: bookProblem(path, err)}
		if errors.Is(err, book.ErrHeld) {
			d.seen = stamp{} // so that the next glance tries again
		}
	}
	d.mu.Unlock()
	d.tell()
}
