package track

import (
	"fmt"
	"strconv"
)

// ParseError says where and why a file cannot be read at all. What can be read
// in part is a Log with notes instead.
type ParseError struct {
	Name string
	Line int // counted from 1, in FIT the number of the message; 0 where the fault has none
	Err  error
}

func (e *ParseError) Error() string { return where(e.Name, e.Line) + ": " + e.Err.Error() }

// Unwrap returns the cause.
func (e *ParseError) Unwrap() error { return e.Err }

// UnsupportedError is the error for a file of another kind than the one read.
type UnsupportedError struct {
	Name   string
	Found  string // what the content is, as in "looks like JSON"
	Format string // the format it was read as; anyFormat for all of them
}

// anyFormat is the Format of a file that is none of formatsRead.
const anyFormat = "any"

// formatsRead names the formats that [Read] knows, for messages.
const formatsRead = "GPX, KML, KMZ, TCX, FIT, GeoJSON, NMEA and CSV, also in .gz and .zip"

func (e *UnsupportedError) Error() string {
	switch e.Format {
	case anyFormat:
		return fmt.Sprintf("%s: not a log: %s; read are %s", e.Name, e.Found, formatsRead)
	case "GPX":
		return fmt.Sprintf("%s: not a GPX file: %s; export it as GPX", e.Name, e.Found)
	}
	return fmt.Sprintf("%s: not a %s file: %s", e.Name, e.Format, e.Found)
}

func where(name string, line int) string {
	if line == 0 {
		return name
	}
	return name + ":" + strconv.Itoa(line)
}
