package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"runtime/debug"
	"time"
)

const (
	headTime  = 10 * time.Second // for the head of a question to arrive
	writeTime = 10 * time.Minute // for an answer to be made and taken
	idleTime  = 2 * time.Minute
	stopTime  = 5 * time.Second // for answers under way when the program ends
	headBytes = 32 << 10
)

// server answers the page.
type server struct {
	cfg     Config
	ctx     context.Context // ends with the program
	door    *door
	desk    *desk
	bell    bell
	shelf   *shelf
	wall    wall
	working chan struct{} // has an element for each question being answered
	ended   []func()      // called when the last answer was given
}

// Serve serves the page on 127.0.0.1 until ctx ends, and waits for what is under
// way then. The error is for what kept the page from being served.
func Serve(ctx context.Context, cfg Config) error {
	l, err := net.Listen("tcp4", fmt.Sprintf("127.0.0.1:%d", cfg.Port))
	if err != nil {
		return fmt.Errorf("cannot serve the page: %w", err)
	}
	s, err := newServer(ctx, cfg, l.Addr().String())
	if err != nil {
		return errors.Join(err, l.Close())
	}
	h := &http.Server{
		Handler: s.handler(), ReadHeaderTimeout: headTime, IdleTimeout: idleTime, MaxHeaderBytes: headBytes,
		ErrorLog:    log.New(io.Discard, "", 0), // of connections that broke off
		BaseContext: func(net.Listener) context.Context { return ctx },
	}
	stopped := make(chan struct{})
	context.AfterFunc(ctx, func() {
		defer close(stopped)
		late, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
		defer cancel()
		if h.Shutdown(late) != nil {
			h.Close()
		}
	})
	if cfg.Ready != nil {
		cfg.Ready(s.door.address)
	}
	if err := h.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("the page is no longer served: %w", err)
	}
	<-stopped
	s.desk.giveUp()
	for _, f := range s.ended {
		f()
	}
	return nil
}

// newServer opens the book of cfg, if it names one.
func newServer(ctx context.Context, cfg Config, host string) (*server, error) {
	cfg.Limits = cfg.Limits.orDefault()
	s := &server{cfg: cfg, ctx: ctx, door: newDoor(host), working: make(chan struct{}, cfg.Limits.Working)}
	s.desk = newDesk(ctx, cfg.Lent, s.bell.ring, s.bug)
	s.shelf = newShelf(cfg.Folder, cfg.Book)
	if cfg.Book != "" {
		if err := s.desk.open(cfg.Book); err != nil {
			return nil, err
		}
	}
	go s.desk.watch(cfg.Limits.Watch, s.bell.heard)
	return s, nil
}

func (s *server) handler() http.Handler {
	m := http.NewServeMux()
	m.Handle("GET /api/events", asking(s.events))
	in := http.NewServeMux()
	for _, add := range []func(*http.ServeMux){
		s.stateRoutes, s.bookRoutes, s.visitRoutes, s.groundRoutes, s.pictureRoutes,
		s.findRoutes, s.planRoutes, s.paperRoutes, s.checkRoutes, s.backdropRoutes, s.pageRoutes,
	} {
		add(in)
	}
	in.Handle("/", asking(func(http.ResponseWriter, *http.Request) error {
		return refuse(http.StatusNotFound, "there is nothing of this name")
	}))
	m.Handle("/", s.atATime(in))
	return s.timely(s.cfg.Limits.Body, s.door.guard(s.safe(m)))
}

// safe answers a panic as the bug it is, and goes on.
func (s *server) safe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			p := recover()
			if p == nil {
				return
			}
			if p == http.ErrAbortHandler {
				panic(p)
			}
			err := s.bug(p, debug.Stack())
			answerStatus(w, http.StatusInternalServerError, ProblemDoc{Error: err.Error()})
		}()
		next.ServeHTTP(w, r)
	})
}

// bug writes down what is needed to find it, and says so to the person.
func (s *server) bug(cause any, stack []byte) error {
	if s.cfg.Errors != nil {
		fmt.Fprintf(s.cfg.Errors, "untrod: bug: %v, please report it with the lines below\n%s", cause, stack)
	}
	return refuse(http.StatusInternalServerError, fmt.Sprintf("bug: %v", cause),
		"please report it, with what the window says in which untrod runs; the book is as it was")
}

// atATime lets so many questions be answered at a time; the others wait.
func (s *server) atATime(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case s.working <- struct{}{}:
			defer func() { <-s.working }()
			next.ServeHTTP(w, r)
		case <-r.Context().Done():
		}
	})
}
