package web

import (
	"io"
	"net/http"
	"time"
)

// timely sets by when a question must have arrived and its answer be taken, so that
// nobody can hold either for ever.
func (s *server) timely(body time.Duration, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(writeTime))
		mustArrive(w, r, body)
		next.ServeHTTP(w, r)
	})
}

// mustArrive sets by when the body of a question must have been read to its end.
func mustArrive(w http.ResponseWriter, r *http.Request, limit time.Duration) {
	if r.ContentLength == 0 {
		return
	}
	b, is := r.Body.(*lateBody)
	if !is {
		b = &lateBody{ReadCloser: r.Body, rc: http.NewResponseController(w)}
		r.Body = b
	}
	_ = b.rc.SetReadDeadline(time.Now().Add(limit)) // fails when the connection is gone, and then so does Read
}

// lateBody takes the time limit away once the body has arrived: it would end the
// question while it is being answered.
type lateBody struct {
	io.ReadCloser
	rc *http.ResponseController
}

func (b *lateBody) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	if err == io.EOF {
		_ = b.rc.SetReadDeadline(time.Time{})
	}
	return n, err
}
