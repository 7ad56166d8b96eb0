package track

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// Kinds of notes of tables; none takes a fix out.
const (
	NoteColumns NoteKind = "columns" // which column was taken for what
	NoteBadRow  NoteKind = "bad-row" // a row without a readable position, left out
)

// ReadCSV reads a table of positions, one a row, in one pass. name stands in
// messages.
//
// Columns are parted by commas, semicolons or tabs, which is guessed, or by what a
// first line such as sep=; says; fields may be quoted as in RFC 4180, and quotes
// within a field that is not are text. The text may be UTF-8 or UTF-16; a field that
// is not valid UTF-8 is read as Windows-1252. The header, within the first 20 lines, is
// the first that names a latitude and a longitude; case, punctuation and units are
// ignored, but for feet, which become metres. Without a header, columns are only taken
// for what cannot be mistaken: angles with N, S, E or W, and of two columns of
// angles the longitude if some are beyond 90. columns overrides each guess. What
// was taken for what is a note of kind [NoteColumns].
//
// Angles are degrees in any usual way of writing (47.25, -3,5, N51 30.208,
// 51°30'12.5"N). Numbers may have a decimal comma; where columns are parted by
// commas, an elevation such as "1,234" is left out with a note, for it may be meant
// in thousands. Times are ISO 8601 with a T or a space, year/month/day,
// seconds or milliseconds since 1970, or a date such as 24.05.2031 or 5/24/2031, in
// one column or with the date in its own; without a zone they are UTC. Whether the
// day or the month comes first, the dates of the file must tell, or columns; one
// file has one order. Milliseconds are the smallest unit; the rest is cut off.
//
// Rows with a name are waypoints, all others fixes of the track that they name. Each track
// is one segment, in the order of the file. If every row has a time and the same name, that
// is the track's. A row whose position cannot be read, or with more fields than the header,
// is left out with a note; another value is a note and stays missing. Positions
// off the globe are kept as they are. A last row without a line end and with too few
// fields is cut short, and left out with a note.
//
// It fails with a *[ParseError] when the file is empty or r fails, when latitude
// and longitude are not known, when a column taken for something has no value that can be
// read as that, and when the order of day and month stays open. Time and memory are
// linear in the rows, and no row may be over 64 kB.
func ReadCSV(r io.Reader, name string, columns Columns) (*Log, error) {
	c := &csvReader{src: newLookahead(r), log: &Log{Name: name, Format: "CSV"}, tracks: map[string]int{}}
	head, err := c.src.peek(lookaheadBytes)
	if len(head) == 0 {
		if err == io.EOF {
			err = errors.New("empty file")
		}
		return nil, &ParseError{Name: name, Err: err}
	}
	layout, unclear := layoutOf(head, columns)
	if unclear != nil {
		if err = c.log.ended(cmp.Or(err, io.EOF), 1); err == nil {
			err = &ParseError{Name: name, Err: unclear}
		}
		return nil, err
	}
	c.layout = layout
	c.dates.order = columns[columnOrder]
	c.cut.delimiter = c.delimiter
	if err = c.log.ended(c.run(), c.src.line()); err != nil {
		return nil, err
	}
	if err = c.finish(); err != nil {
		return nil, &ParseError{Name: name, Err: err}
	}
	return c.log, nil
}

// csvReader holds what has been read of the table.
type csvReader struct {
	src *lookahead
	log *Log
	cut recordCutter
	layout
	rows   int
	tally  [columnCount]tally
	dates  dateReader
	tracks map[string]int // by name, index in log.Tracks
	last   int            // the track of the row before
	fixes  fixList        // of that track, since another
	others bool           // waypoints have different names, or no times
	joined []byte         // date and time
}

// tally is how a column fared.
type tally struct {
	tried, read int
	bad         string // the first value that could not be read
}

// run reads row after row and returns why it ended.
func (c *csvReader) run() error {
	c.skipHead()
	for {
		text, err := c.src.buffered()
		if len(text) == 0 {
			return err
		}
		n, end := c.cut.record(text)
		if end != lineEnded {
			text, err = c.src.peek(lookaheadBytes)
			n, end = c.cut.record(text)
		}
		switch {
		case end == quoteOpen, end == lineOpen && err == nil && c.cut.plain == 0 && bytes.ContainsAny(text, "\r\n"):
			c.note(NoteBadRow, "a quote that is never closed, read as text")
			c.cut.plain = len(text)
			continue
		case end == lineOpen && err == nil:
			c.note(NoteBadRow, fmt.Sprintf("a row over %d kB", lookaheadBytes>>10))
			c.skipLine(text)
			continue
		case end == lineOpen && (err != io.EOF || len(c.cut.fields) < c.width):
			c.cutShort(err)
		default:
			c.row()
		}
		c.skip(n)
	}
}

// cutShort notes a last row that is; where reading failed, that has a note of its own.
func (c *csvReader) cutShort(err error) {
	if err == io.EOF && !c.blank(0) {
		c.note(NoteTruncated, "the last row is cut short, left out")
	}
}

func (c *csvReader) skip(n int) {
	c.src.skip(n)
	c.cut.plain = max(0, c.cut.plain-n)
}

// skipHead passes over the header and what stands before it.
func (c *csvReader) skipHead() {
	c.skip(c.headStart)
	c.note(NoteColumns, c.String())
	c.skip(c.headEnd - c.headStart)
}

// skipLine passes over the rest of a line that begins with text.
func (c *csvReader) skipLine(text []byte) {
	for len(text) > 0 {
		if end := bytes.IndexAny(text, "\r\n"); end >= 0 {
			c.skip(end + 1)
			return
		}
		c.skip(len(text))
		text, _ = c.src.buffered()
	}
}

// field is the text of the row's column for m, nil when there is none.
func (c *csvReader) field(m column) []byte {
	if i := c.at[m]; i >= 0 && i < len(c.cut.fields) {
		return c.cut.fields[i]
	}
	return nil
}

// keep adds the row to its track, or to the waypoints if it has a name.
func (c *csvReader) keep(fix Fix) {
	if name := c.text(columnName); name != "" {
		w := c.log.Waypoints
		c.others = c.others || !fix.T.Known() || len(w) > 0 && w[0].Name != name
		c.log.addWaypoint(Waypoint{Fix: fix, Name: name, Desc: c.text(columnDesc)})
		return
	}
	t := c.log.Tracks
	if field := c.field(columnTrack); len(t) == 0 || string(field) != t[c.last].Name {
		c.flush()
		c.last = c.track(c.text(columnTrack))
	}
	c.fixes.add(fix)
}

// flush adds the rows read since to their track.
func (c *csvReader) flush() {
	if fixes := c.fixes.take(); len(fixes) > 0 {
		if s := c.log.Tracks[c.last].Segments; s[0] == nil {
			s[0] = fixes
		} else {
			s[0] = append(s[0], fixes...)
		}
	}
}

// track is the index of the track of a name.
func (c *csvReader) track(name string) int {
	i, known := c.tracks[name]
	if !known {
		i = len(c.log.Tracks)
		c.tracks[name] = i
		c.log.Tracks = append(c.log.Tracks, Track{Name: name, Segments: make([][]Fix, 1)})
	}
	return i
}

// text is the row's column for m as UTF-8.
func (c *csvReader) text(m column) string { return fieldText(c.field(m)) }

func fieldText(field []byte) string {
	if !utf8.Valid(field) {
		field, _ = charmap.Windows1252.NewDecoder().Bytes(field) // never fails
	}
	return string(field)
}

func (c *csvReader) note(k NoteKind, what string) { c.log.noteAt(k, c.src.line(), what) }

func (c *csvReader) where() string { return where(c.log.Name, c.src.line()) + ": " }

func (c *csvReader) badField(m column, why string) {
	c.log.Notes.Add(NoteBadField, func() string {
		return c.where() + columnWords[m].word + " " + quoted(c.text(m)) + " " + why
	})
}

// finish settles what only the whole file tells.
func (c *csvReader) finish() error {
	c.flush()
	for m := range columnCount {
		if t := c.tally[m]; t.tried > 0 && t.read == 0 {
			return fmt.Errorf("%s taken as %s: no value can be read as %s, such as %s; %s",
				c.source(m), columnWords[m].word, columnWords[m].of, t.bad, m.remedy())
		}
	}
	if err := c.dates.settled(); err != nil {
		return err
	}
	if c.rows == 0 {
		c.note(NoteEmpty, "no rows")
	}
	c.nameTrack()
	return nil
}

// nameTrack makes a track of waypoints that are none.
func (c *csvReader) nameTrack() {
	w := c.log.Waypoints
	if len(w) < 3 || len(c.log.Tracks) > 0 || c.others {
		return
	}
	fixes := make([]Fix, len(w))
	for i := range w {
		fixes[i] = w[i].Fix
	}
	c.log.Tracks, c.log.Waypoints = []Track{{Name: w[0].Name, Segments: [][]Fix{fixes}}}, nil
}
