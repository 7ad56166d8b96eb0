package track

import (
	"fmt"
	"strconv"
)

// ParseError says where and why a file cannot be read at all. What can be read
// in part is a Log with notes instead.
type ParseError struct {
	Name string
	Line int // counted from 1; 0 where the fault has no line
	Err  error
}

func (e *ParseError) Error() string { return where(e.Name, e.Line) + ": " + e.Err.Error() }

// Unwrap returns the cause.
func (e *ParseError) Unwrap() error { return e.Err }

// UnsupportedError is the error for a file of another kind than GPX.
type UnsupportedError struct {
	Name  string
	Found string // what the content is, as in "looks like JSON"
}

func (e *UnsupportedError) Error() string {
	return fmt.Sprintf("%s: not a GPX file: %s; export it as GPX", e.Name, e.Found)
}

func where(name string, line int) string {
	if line == 0 {
		return name
	}
	return name + ":" + strconv.Itoa(line)
}
