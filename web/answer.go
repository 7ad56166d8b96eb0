package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"os"
	"strconv"
	"strings"
)

// problem is an error for the person at the page.
type problem struct {
	status int
	text   string
	hints  []string
	partly bool // done, but some of what was given could not be used
	cause  error
}

func (p *problem) Error() string { return strings.Join(append([]string{p.text}, p.hints...), "; ") }
func (p *problem) Unwrap() error { return p.cause }

// problemOf is the problem in an error; other errors are 422: they come from the
// book, the logs or the settings.
func problemOf(err error) *problem {
	var p *problem
	if errors.As(err, &p) {
		return p
	}
	return &problem{status: http.StatusUnprocessableEntity, text: err.Error(), cause: err}
}

// refuse is a problem with what was asked.
func refuse(status int, text string, hints ...string) error {
	return &problem{status: status, text: text, hints: hints}
}

// Refuse is an error with hints for the person at the page, for what is lent.
func Refuse(text string, hints ...string) error {
	return refuse(http.StatusUnprocessableEntity, text, hints...)
}

var (
	errNoBook  = refuse(http.StatusConflict, "no book is open", "open a book, or start a new one")
	errNothing = refuse(http.StatusConflict, "nothing has been worked out yet", "add the logs of your visits")
)

// ProblemDoc is the answer to whatever went wrong.
type ProblemDoc struct {
	Error string   `json:"error"`
	Hints []string `json:"hints,omitempty"`
}

// asking is a handler that may fail. Whoever asks and leaves gets no answer.
type asking func(w http.ResponseWriter, r *http.Request) error

func (f asking) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	err := f(w, r)
	if err == nil || errors.Is(err, context.Canceled) {
		return
	}
	p := problemOf(err)
	answerStatus(w, p.status, ProblemDoc{p.text, p.hints})
}

// answer writes doc as JSON.
func answer(w http.ResponseWriter, doc any) error {
	answerStatus(w, http.StatusOK, doc)
	return nil
}

func answerStatus(w http.ResponseWriter, status int, doc any) {
	b, err := json.Marshal(doc)
	if err != nil { // a NaN that is no report.Number: a bug
		panic(err)
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(b)
}

// docBytes is the most JSON a question may have.
const docBytes = 4 << 20

// readDoc reads the body of a question, JSON without unknown members, to its end.
func readDoc(w http.ResponseWriter, r *http.Request, into any) error {
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, docBytes))
	if err != nil {
		return arriveProblem(err)
	}
	d := json.NewDecoder(bytes.NewReader(body))
	d.DisallowUnknownFields()
	if err = d.Decode(into); err == nil {
		if _, more := d.Token(); more != io.EOF {
			err = errors.New("more than one document")
		}
	}
	if err != nil {
		return refuse(http.StatusBadRequest, "not understood: "+err.Error())
	}
	return nil
}

// arriveProblem says why a question did not arrive whole.
func arriveProblem(err error) error {
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return refuse(http.StatusRequestEntityTooLarge, "that is more than the page takes at a time, "+megabytes(large.Limit),
			"give fewer files at a time, or use the command line, which has no limit")
	case errors.Is(err, os.ErrDeadlineExceeded):
		return refuse(http.StatusRequestTimeout, "it took too long to arrive", "try again")
	}
	return refuse(http.StatusBadRequest, "it did not arrive whole", "try again")
}

func megabytes(n int64) string { return strconv.FormatInt(n>>20, 10) + " MB" }

// number reads a number of the question's query.
func number(r *http.Request, name string) (float64, error) {
	v, err := strconv.ParseFloat(r.FormValue(name), 64)
	if err != nil || v-v != 0 {
		return 0, refuse(http.StatusBadRequest, name+" is not a number")
	}
	return v, nil
}
