package site

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	utf "golang.org/x/text/encoding/unicode"

	"untrod/track"
)

// FindRow is a row of a table of finds.
type FindRow struct {
	Find         // Photos holds the names of files as typed; Session is 0
	Line  int    // where the row begins, counted from 1
	When  Moment // of a find with a date; T is known where Find.T is
	Visit string // as typed
}

// FindTable is a table of finds as read.
type FindTable struct {
	Columns string // which column was taken for what
	Rows    []FindRow
	Notes   track.Notes
}

// FindReading says how to read a table of finds; the zero value guesses.
type FindReading struct {
	// Columns says which column holds what, by its name or number, as in
	// track.Columns; the meanings are name, lat, lon, sd (metres per axis), time,
	// date, reading, detector, depth, verdict, material, from, to, years (such as
	// 1700-1750), note, visit and photos. "dates" is the order of day and month,
	// dmy or mdy; "depth-unit" that of bare numbers.
	Columns track.Columns
	Zone    *time.Location // of times that do not say theirs; nil: UTC
}

const (
	maxTable    = 64 << 20
	headsWithin = 20 // rows
)

// ReadFinds reads a table of finds, one a row, whose columns are told by a head
// within the first 20 rows. They are parted by commas, semicolons, tabs or bars; the
// text is UTF-8, UTF-16 or, byte for byte, Windows-1252; numbers may have a decimal
// comma, fields may be quoted. name stands in messages.
//
// A value that cannot be read is a note and stays missing; the find is kept. Rows
// with more fields than the head are left out with a note. Cells that begin with an
// apostrophe before what a spreadsheet takes for a formula lose it, see
// track.Inert: formulas are text here and nothing else.
//
// It fails when r does, when the table is over 64 MB or has no head, when a quote is
// never closed, when a depth has no unit anywhere, and when the order of day and month
// stays open. Time and memory are linear in the table.
func ReadFinds(r io.Reader, name string, how FindReading) (*FindTable, error) {
	if err := checkFindColumns(how.Columns); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	text, err := io.ReadAll(io.LimitReader(r, maxTable+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s: %w", name, err)
	case len(text) > maxTable:
		return nil, fmt.Errorf("%s: a table of over %d MB", name, maxTable>>20)
	}
	t := &tableReader{name: name, how: how, text: plainText(text)}
	if err := t.read(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return &t.out, nil
}

// plainText is text as UTF-8 with newlines, where that can be told.
func plainText(text []byte) []byte {
	high := func(i int) bool { return len(text) > 3 && text[i] == 0 && text[i+2] == 0 }
	var order utf.Endianness
	switch {
	case bytes.HasPrefix(text, []byte("\xff\xfe")), high(1):
		order = utf.LittleEndian
	case bytes.HasPrefix(text, []byte("\xfe\xff")), high(0):
		order = utf.BigEndian
	default:
		text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
		if !bytes.Contains(text, []byte("\n")) {
			text = bytes.ReplaceAll(text, []byte("\r"), []byte("\n"))
		}
		return text
	}
	decoded, _ := utf.UTF16(order, utf.UseBOM).NewDecoder().Bytes(text) // odd halves become U+FFFD
	return plainText(bytes.TrimPrefix(decoded, []byte("\ufeff")))
}

// tableReader is one call of ReadFinds.
type tableReader struct {
	name string
	how  FindReading
	text []byte
	head findHead
	out  FindTable
}

// record is a row as cut.
type record struct {
	cells []string
	line  int
}

func (t *tableReader) read() error {
	said := 0
	delimiters := "\t;,|"
	if len(t.text) > 6 && bytes.EqualFold(t.text[:4], []byte("sep=")) {
		delimiters, said = string(rune(t.text[4])), bytes.IndexByte(t.text, '\n')+1
	}
	rows, start, err := t.split(delimiters, said)
	if err != nil {
		return err
	}
	t.out.Columns = t.head.String()
	if err := t.settleDates(rows[start:]); err != nil {
		return err
	}
	for _, r := range rows[start:] {
		if err := t.row(r); err != nil {
			return err
		}
	}
	return nil
}

// split cuts the rows by the delimiter whose head names most columns, and returns
// where they begin after it.
func (t *tableReader) split(delimiters string, from int) (rows []record, start int, err error) {
	best, why := 0, errors.New("no rows")
	for _, d := range delimiters {
		some, failed := cutRows(t.text[from:], d, headsWithin)
		for i, r := range some {
			h, err := headOf(r.cells, t.how.Columns)
			if n := h.known(); err == nil && n > best {
				best, start, t.head, rows = n, i+1, h, nil
			} else if best == 0 && err != nil {
				why = err
			}
		}
		if failed != nil && len(some) == 0 {
			why = failed
		}
		if best > 0 && rows == nil {
			rows, err = cutRows(t.text[from:], d, 0)
			if err != nil {
				return nil, 0, err
			}
		}
	}
	if best == 0 {
		return nil, 0, fmt.Errorf("%w; such as name,lat,lon,time,reading", why)
	}
	return rows, start, nil
}

func (h findHead) known() (n int) {
	for _, i := range h.at {
		if i >= 0 {
			n++
		}
	}
	return n
}

// cutRows cuts up to n rows, 0 for all, that are not blank.
func cutRows(text []byte, delimiter rune, n int) ([]record, error) {
	c := csv.NewReader(bytes.NewReader(text))
	c.Comma, c.FieldsPerRecord, c.LazyQuotes, c.TrimLeadingSpace = delimiter, -1, true, delimiter != '\t'
	var out []record
	for n == 0 || len(out) < n {
		begin := c.InputOffset()
		cells, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return out, err
		}
		line, _ := c.FieldPos(0)
		last := cells[len(cells)-1]
		whole := bytes.TrimRight(text[begin:c.InputOffset()], " \t\r\n")
		if c.InputOffset() == int64(len(text)) && strings.Contains(last, "\n") && !bytes.HasSuffix(whole, []byte(`"`)) {
			return out, fmt.Errorf("line %d: a quote that is never closed", line)
		}
		blank := true
		for i := range cells {
			cells[i] = cellText(cells[i])
			blank = blank && cells[i] == ""
		}
		if !blank {
			out = append(out, record{cells, line})
		}
	}
	return out, nil
}

// cellText is a cell as UTF-8 without the apostrophe that track.Inert adds.
func cellText(cell string) string {
	if !utf8.ValidString(cell) {
		cell, _ = charmap.Windows1252.NewDecoder().String(cell) // never fails
	}
	cell = strings.TrimSpace(cell)
	if rest, ok := strings.CutPrefix(cell, "'"); ok && track.Inert(rest) != rest {
		return rest
	}
	return cell
}

// settleDates finds the order of day and month that all dates can have.
func (t *tableReader) settleDates(rows []record) error {
	if t.head.order != "" {
		return nil
	}
	var open, day, month string
	for _, r := range rows {
		text := t.when(r)
		if text == "" {
			continue
		}
		_, _, asDay := ParseMoment(text, DayFirst, t.how.Zone)
		_, _, asMonth := ParseMoment(text, MonthFirst, t.how.Zone)
		_, ambiguous, _ := ParseMoment(text, "", t.how.Zone)
		switch {
		case ambiguous:
			open = text
		case asDay && !asMonth:
			day, t.head.order = text, DayFirst
		case asMonth && !asDay:
			month, t.head.order = text, MonthFirst
		}
	}
	switch {
	case day != "" && month != "":
		return fmt.Errorf("dates %q and %q have the day in different places; say %s=%s or %s=%s", day, month, keyDates, DayFirst, keyDates, MonthFirst)
	case open != "" && t.head.order == "":
		return fmt.Errorf("date %q may have the day or the month first, and no date in the file tells; say %s=%s or %s=%s", open, keyDates, DayFirst, keyDates, MonthFirst)
	}
	return nil
}

// when is the row's date and time as one text.
func (t *tableReader) when(r record) string {
	return strings.TrimSpace(t.cell(r, findDate) + " " + t.cell(r, findTime))
}

func (t *tableReader) cell(r record, m findColumn) string {
	if i := t.head.at[m]; i >= 0 && i < len(r.cells) {
		return r.cells[i]
	}
	return ""
}
