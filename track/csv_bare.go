package track

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// bareLayout finds the columns of a table without header.
func bareLayout(head []byte, columns Columns, delimiters string, start int) (layout, error) {
	var rows [][]string
	l := layout{delimiter: delimiters[len(delimiters)-1], headStart: start}
	for i := range len(delimiters) {
		if rows = dataRows(sample(head, delimiters[i], start, sampleRows)); even(rows) {
			l.delimiter = delimiters[i]
			break
		}
	}
	if len(rows) == 0 {
		return l, errors.New("no rows")
	}
	l.headEnd = start
	l.width = len(rows[len(rows)/2])
	for m := range columnCount {
		l.at[m] = -1
		if asked, is := columns[columnWords[m].word]; is {
			i, err := strconv.Atoi(asked)
			if asked != columnNone && (err != nil || i < 1 || i > l.width) {
				return l, fmt.Errorf("no column %q for %s; %s", asked, columnWords[m].word, described(rows[0]))
			}
			l.at[m] = i - 1
		}
	}
	l.recognise(rows, columns)
	if l.at[columnLat] < 0 || l.at[columnLon] < 0 {
		return l, fmt.Errorf("no line names a latitude and a longitude; %s; say which they are, such as lat=1 lon=2", described(rows[0]))
	}
	return l, nil
}

// dataRows leaves out comments.
func dataRows(all []sampleRow) (rows [][]string) {
	for _, r := range all {
		if !strings.HasPrefix(r.fields[0], "#") {
			rows = append(rows, r.fields)
		}
	}
	return rows
}

// even reports whether all rows, the last apart, have the same number of fields, two
// at least.
func even(rows [][]string) bool {
	for i, r := range rows {
		if len(r) != len(rows[0]) && i < len(rows)-1 {
			return false
		}
	}
	return len(rows) > 0 && len(rows[0]) > 1
}

// recognise takes columns without name for what cannot be mistaken.
func (l *layout) recognise(rows [][]string, columns Columns) {
	found := map[column]int{columnLat: -1, columnLon: -1, columnTime: -1}
	var plain []int // columns of angles that do not say which
	for i := range l.width {
		switch m := kindOf(rows, i); m {
		case columnCount:
		case columnLat, columnLon, columnTime:
			if found[m] < 0 {
				found[m] = i
			}
		default:
			plain = append(plain, i)
		}
	}
	if found[columnLat] < 0 && found[columnLon] < 0 && len(plain) == 2 {
		switch a, b := beyond90(rows, plain[0]), beyond90(rows, plain[1]); {
		case a && !b:
			found[columnLat], found[columnLon] = plain[1], plain[0]
		case b && !a:
			found[columnLat], found[columnLon] = plain[0], plain[1]
		}
	}
	for m, i := range found {
		if _, asked := columns[columnWords[m].word]; !asked {
			l.at[m] = i
		}
	}
}

// anyAngle is what kindOf says of a column of plain angles.
const anyAngle = columnCount + 1

// kindOf tells what all values of a column are, columnCount when nothing: latitudes,
// longitudes, times, or angles of 3 decimals or more.
func kindOf(rows [][]string, i int) column {
	kind := columnCount
	for _, r := range rows {
		if i >= len(r) || r[i] == "" {
			continue
		}
		k := valueKind([]byte(r[i]))
		if kind != columnCount && k != kind || k == columnCount {
			return columnCount
		}
		kind = k
	}
	return kind
}

func valueKind(text []byte) column {
	if v, ok := parseNumber(text); ok {
		if i := bytes.IndexByte(text, '.'); i >= 0 && len(text)-i > 3 && math.Abs(v) <= 180 {
			return anyAngle
		}
		return columnCount
	}
	if v, ok := parseCommaNumber(text); ok && len(text)-bytes.IndexByte(text, ',') > 3 && math.Abs(v) <= 180 {
		return anyAngle
	}
	if _, ok := parseTime(text); ok {
		return columnTime
	}
	_, lat := parseAngle(text, 'N', 'S')
	_, lon := parseAngle(text, 'E', 'W')
	switch {
	case lat && lon:
		return anyAngle
	case lat:
		return columnLat
	case lon:
		return columnLon
	}
	return columnCount
}

func beyond90(rows [][]string, i int) bool {
	for _, r := range rows {
		if i >= len(r) {
			continue
		}
		if v, ok := parseAngle([]byte(r[i]), 'E', 'W'); ok && math.Abs(v) > 90 {
			return true
		}
	}
	return false
}
