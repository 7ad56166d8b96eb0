package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"sync"
	"time"
)

const (
	eventsEvery = 100 * time.Millisecond // at most one state in this time
	eventsAlive = 15 * time.Second       // a sign of life, so that a dead line is noticed
	eventsWrite = 30 * time.Second       // for one of them to leave
)

// bell tells all listeners that something changed. Rings that come close together
// are one.
type bell struct {
	mu        sync.Mutex
	listeners map[chan struct{}]bool
}

func (b *bell) ring() {
	b.mu.Lock()
	defer b.mu.Unlock()
	for l := range b.listeners {
		select {
		case l <- struct{}{}:
		default: // it has not come to hear the last one yet
		}
	}
}

func (b *bell) listen() (rings <-chan struct{}, leave func()) {
	l := make(chan struct{}, 1)
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.listeners == nil {
		b.listeners = map[chan struct{}]bool{}
	}
	b.listeners[l] = true
	return l, func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		delete(b.listeners, l)
	}
}

// heard reports whether anybody listens.
func (b *bell) heard() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.listeners) > 0
}

// events sends the state at once and whenever it changes, until the browser leaves
// or the program ends, which the event `end` says.
func (s *server) events(w http.ResponseWriter, r *http.Request) error {
	rings, leave := s.bell.listen()
	defer leave()
	w.Header().Set("Content-Type", "text/event-stream")
	var last []byte
	for {
		doc, err := json.Marshal(s.stateDoc())
		if err != nil {
			panic(err)
		}
		if !bytes.Equal(doc, last) {
			if last = doc; sendEvent(w, "event: state\ndata: %s\n\n", doc) != nil {
				return nil
			}
		}
		if !pause(r, eventsEvery) {
			break
		}
		select {
		case <-rings:
		case <-r.Context().Done():
		case <-time.After(eventsAlive):
			if sendEvent(w, ":\n\n") != nil {
				return nil
			}
		}
	}
	_ = sendEvent(w, "event: end\ndata: {}\n\n")
	return nil
}

// pause waits, unless the question is over.
func pause(r *http.Request, d time.Duration) bool {
	select {
	case <-time.After(d):
		return r.Context().Err() == nil
	case <-r.Context().Done():
		return false
	}
}

func sendEvent(w http.ResponseWriter, format string, args ...any) error {
	rc := http.NewResponseController(w)
	if err := rc.SetWriteDeadline(time.Now().Add(eventsWrite)); err != nil {
		return err
	}
	if _, err := fmt.Fprintf(w, format, args...); err != nil {
		return err
	}
	return rc.Flush()
}
