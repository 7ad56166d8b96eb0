package track

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// layout is what is known of a table before its rows are read.
type layout struct {
	delimiter          byte
	header             []string // nil when there is none
	width              int      // columns
	at                 [columnCount]int
	feet               [columnCount]bool
	headStart, headEnd int // where the header stands in the head of the file
}

const (
	headerWithin = 20  // rows
	sampleRows   = 100 // of a table without header
)

// delimiters are tried in this order: commas are the likeliest to stand in text, or
// in numbers.
const delimiters = "\t;,"

// layoutOf finds the columns of a table by the head of its file.
func layoutOf(head []byte, columns Columns) (layout, error) {
	if err := columns.check(); err != nil {
		return layout{}, err
	}
	delimiters, start := delimiters, 0
	if said, length := saidDelimiter(head); length > 0 {
		delimiters, start = string(rune(said)), length
	}
	for i := range len(delimiters) {
		l := layout{delimiter: delimiters[i]}
		rows := sample(head, l.delimiter, start, headerWithin)
		for _, r := range rows {
			if l.headed(r.fields, columns) == nil {
				l.headStart, l.headEnd = r.start, r.end
				return l, nil
			}
		}
	}
	return bareLayout(head, columns, delimiters, start)
}

// saidDelimiter reads a first line such as sep=; and returns its length, 0 where there is
// none.
func saidDelimiter(head []byte) (delimiter byte, length int) {
	end := bytes.IndexAny(head, "\r\n")
	if end < 0 || !bytes.EqualFold(head[:min(4, end)], []byte("sep=")) {
		return 0, 0
	}
	if c := head[4]; end == 5 && c < 0x80 && c != '"' {
		return c, end + 1
	}
	return 0, 0
}

// sampleRow is a row at the head of a file, and where it stands.
type sampleRow struct {
	fields     []string
	start, end int
}

// sample cuts up to n rows that are not blank off head, from start on. A last row
// without end counts too.
func sample(head []byte, delimiter byte, start, n int) (rows []sampleRow) {
	cut := recordCutter{delimiter: delimiter}
	for start < len(head) && len(rows) < n {
		length, end := cut.record(head[start:])
		if end == quoteOpen {
			cut.plain = 1
			continue
		}
		fields := make([]string, len(cut.fields))
		blank := true
		for i, f := range cut.fields {
			fields[i] = fieldText(f)
			blank = blank && len(f) == 0
		}
		if !blank {
			rows = append(rows, sampleRow{fields, start, start + length})
		}
		start += length
	}
	return rows
}

// source says which column m is.
func (l *layout) source(m column) string {
	i := l.at[m]
	if l.header == nil {
		return "column " + strconv.Itoa(i+1)
	}
	return quoted(l.header[i])
}

// String says what was taken for what.
func (l *layout) String() string {
	var said, unused []string
	used := map[int]bool{}
	for m := range columnCount {
		if l.at[m] < 0 {
			continue
		}
		used[l.at[m]] = true
		from := columnWords[m].word + " from " + l.source(m)
		if l.feet[m] {
			from += " in feet"
		}
		said = append(said, from)
	}
	for i, h := range l.header {
		if !used[i] {
			unused = append(unused, quoted(h))
		}
	}
	if len(unused) > 0 {
		return strings.Join(said, ", ") + "; not used: " + listed(unused)
	}
	return strings.Join(said, ", ")
}

// described shows a row in a message.
func described(row []string) string {
	var all []string
	for _, f := range row {
		all = append(all, quoted(f))
	}
	return "the first has " + listed(all)
}

// listed joins the first eight.
func listed(all []string) string {
	const most = 8
	if more := len(all) - most; more > 0 {
		return strings.Join(all[:most], ", ") + fmt.Sprintf(" and %d more", more)
	}
	return strings.Join(all, ", ")
}
