package web

import (
	"bufio"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// event is one server-sent event.
type event struct {
	name, data string
	at         time.Time
}

// listen hears the events until the line is cut.
func (o *opened) listen() <-chan event {
	res, err := o.client.Get(o.base + "/api/events")
	require.NoError(o.t, err)
	require.Equal(o.t, "text/event-stream", res.Header.Get("Content-Type"))
	o.t.Cleanup(func() { res.Body.Close() })
	heard := make(chan event, 1000)
	go func() {
		defer close(heard)
		var e event
		for lines := bufio.NewScanner(res.Body); lines.Scan(); {
			switch key, value, _ := strings.Cut(lines.Text(), ": "); key {
			case "event":
				e = event{name: value, at: time.Now()}
			case "data":
				e.data = value
			case "":
				if e.name != "" {
					heard <- e
				}
				e = event{}
			}
		}
	}()
	return heard
}

// The state comes at once, then whenever it changes, at most ten times a second, and
// the end of the program is said.
func TestEvents(t *testing.T) {
	o, _ := withVisits(t, 2, func(c *Config) {
		c.Lent.Ground = func(path string) (*Ground, error) { return groundWith(path, 400) }
	})
	heard := o.listen()
	var stages []string
	var times []time.Time
	for e := range heard {
		var doc StateDoc
		require.Equal(t, "state", e.name)
		require.NoError(t, json.Unmarshal([]byte(e.data), &doc))
		times, stages = append(times, e.at), append(stages, doc.Stage)
		if worked(doc) {
			break
		}
	}
	require.Contains(t, stages, stageFull)
	for i := 10; i < len(times); i++ {
		require.Greater(t, times[i].Sub(times[i-10]), 900*time.Millisecond, "more than ten a second")
	}

	go o.ask(http.MethodPost, "/api/books/close", "{}")
	e := <-heard
	require.Contains(t, e.data, `"book":null`)
	go o.end()
	var last event
	for e := range heard {
		last = e
	}
	require.Equal(t, "end", last.name)
}

// Stopping the program waits for nobody who only listens.
func TestStopsAtOnce(t *testing.T) {
	o, _ := withVisits(t, 2, long)
	heard := o.listen()
	<-heard
	start := time.Now()
	require.NoError(t, o.end())
	require.Less(t, time.Since(start), 2*time.Second)
	_, err := o.client.Get(o.base + "/api/state")
	require.Error(t, err)
}
