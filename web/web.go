// Package web is untrod in a browser: a server for this computer alone, whose page
// does by looking and pointing what the commands do by typing.
//
// Start at [Serve]. door.go lets in only the browser that was opened, desk.go holds
// the open book and what was worked out from it, the other files answer the page's
// questions, one subject each. docs/interface.md lists all questions and answers.
//
// The page never names a path: books lie in one folder and are named by their file
// names, everything else by numbers that the server gave out.
package web

import (
	"context"
	"io"
	"time"

	"untrod/coverage"
	"untrod/report"
	"untrod/site"
	"untrod/site/book"
)

// Config is what a page is opened with.
type Config struct {
	Folder  string // where books are kept and made; made when it is needed
	Book    string // path of the book to open at once; "" for none
	Port    int    // of 127.0.0.1; 0 for any that is free
	Version string // of the program
	Now     func() time.Time
	Lent    Lent
	// Ready is called once the page can be opened. Each call of address gives the
	// address that lets one browser in, once; it puts the one before out of use.
	Ready func(address func() string)
	// Errors takes what helps to find a bug; nil: nowhere.
	Errors io.Writer
	Limits Limits
}

// Limits are what the page may take; 0 stands for the default.
type Limits struct {
	UploadBytes int64         // of one question with files; default 1 GB
	Body        time.Duration // for a question without files to arrive; default 30 s
	Upload      time.Duration // for files to arrive; default 15 min
	Working     int           // questions answered at a time, the others wait; default 32
	Watch       time.Duration // between looks for changes of the book by others; default 2 s
}

func (l Limits) orDefault() Limits {
	if l.UploadBytes == 0 {
		l.UploadBytes = 1 << 30
	}
	if l.Body == 0 {
		l.Body = 30 * time.Second
	}
	if l.Upload == 0 {
		l.Upload = 15 * time.Minute
	}
	if l.Working == 0 {
		l.Working = 32
	}
	if l.Watch == 0 {
		l.Watch = 2 * time.Second
	}
	return l
}

// Lent is what the command line lends the page, so that both do the same thing.
type Lent struct {
	// Run carries out one command line, without the program's name, in this process and
	// returns its exit code.
	Run func(ctx context.Context, args []string, out, err io.Writer) int
	// Ground opens a book to read, with its settings. A book without visits is no
	// error. Errors may be those of [Refuse].
	Ground func(path string) (*Ground, error)
	// Demo makes the book of the demonstration at path, which must not exist.
	Demo func(ctx context.Context, path string) error
	// Known are the settings a book can hold, in the order to show them.
	Known []Setting
}

// Setting is one that a book can hold.
type Setting struct {
	Name    string `json:"name"`
	Usage   string `json:"usage"`
	Default string `json:"default"`
	Group   string `json:"group"`
	List    bool   `json:"list,omitempty"` // its value has an entry a line
}

// Ground is a book as an assessment needs it. Close it when the assessment is done.
type Ground struct {
	Site   *site.Site // nil when the book has no outline
	Visits []book.Session
	Logs   []coverage.Source // of the visits
	Finds  []site.Find
	Set    coverage.Settings
	Units  report.Units
	Says   map[string]string // the book's settings as typed
	Close  func() error
}
