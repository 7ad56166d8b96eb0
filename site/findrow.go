package site

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"untrod/track"
)

// NoteLeftOut counts rows of a table of finds that are no find.
const NoteLeftOut track.NoteKind = "left-out"

// row makes a find of a row.
func (t *tableReader) row(r record) error {
	if len(r.cells) > len(t.head.names) && strings.Join(r.cells[len(t.head.names):], "") != "" {
		t.note(NoteLeftOut, r, "a row of %d fields, where the head has %d", len(r.cells), len(t.head.names))
		return nil
	}
	f := FindRow{Find: NoFind, Line: r.line, Visit: t.cell(r, findVisit)}
	f.Name, f.Reading, f.Detector = t.cell(r, findName), t.cell(r, findReading), t.cell(r, findDetector)
	f.Material, f.Note = t.cell(r, findMaterial), t.cell(r, findNote)
	t.place(r, &f.Find)
	t.time(r, &f)
	t.verdict(r, &f.Find)
	t.years(r, &f.Find)
	if err := t.depth(r, &f.Find); err != nil {
		return err
	}
	for _, name := range strings.FieldsFunc(t.cell(r, findPhotos), func(c rune) bool { return c == ';' || c == '|' }) {
		f.Photos = append(f.Photos, strings.TrimSpace(name))
	}
	if err := f.Validate(); err != nil {
		t.note(NoteLeftOut, r, "%v", err)
		return nil
	}
	t.out.Rows = append(t.out.Rows, f)
	return nil
}

func (t *tableReader) note(k track.NoteKind, r record, format string, args ...any) {
	t.out.Notes.Add(k, func() string { return fmt.Sprintf("%s:%d: ", t.name, r.line) + fmt.Sprintf(format, args...) })
}

func (t *tableReader) bad(r record, m findColumn, what string) {
	t.note(track.NoteBadField, r, "%s %q is not %s", findColumnWords[m].word, t.cell(r, m), what)
}

func (t *tableReader) place(r record, f *Find) {
	lat, lon := t.cell(r, findLat), t.cell(r, findLon)
	if lat != "" || lon != "" {
		p, ok := track.ParseLonLat(lat, lon)
		if ok {
			f.Pos = p
		} else {
			t.note(track.NoteBadPosition, r, "%q, %q is no place on the globe", lat, lon)
		}
	}
	if text := t.cell(r, findSd); text != "" {
		if v, ok := plainNumber(text); ok && v > 0 && v <= maxSdM {
			f.SdM = v
		} else {
			t.bad(r, findSd, "a number of metres")
		}
	}
}

func (t *tableReader) time(r record, f *FindRow) {
	text := t.when(r)
	if text == "" {
		return
	}
	m, _, ok := ParseMoment(text, t.head.order, t.how.Zone)
	if !ok { // a time column may hold the date too
		m, _, ok = ParseMoment(t.cell(r, findTime), t.head.order, t.how.Zone)
	}
	if !ok {
		t.note(track.NoteBadField, r, "%q is not a date and time", text)
		return
	}
	f.When, f.T = m, m.T
}

func (t *tableReader) verdict(r record, f *Find) {
	v, ok := ParseVerdict(t.cell(r, findVerdict))
	if !ok {
		t.bad(r, findVerdict, "keeper, scrap or unknown")
		return
	}
	f.Verdict = v
}

func (t *tableReader) years(r record, f *Find) {
	for _, m := range []findColumn{findFrom, findTo, findYears} {
		text := t.cell(r, m)
		if text == "" {
			continue
		}
		from, to, ok := ParseYears(text)
		switch {
		case !ok || m != findYears && from != to:
			t.bad(r, m, "a year")
		case m == findFrom:
			f.From = from
		case m == findTo:
			f.To = to
		default:
			f.From, f.To = from, to
		}
	}
}

func (t *tableReader) depth(r record, f *Find) error {
	text := t.cell(r, findDepth)
	if text == "" {
		return nil
	}
	cut := strings.IndexFunc(text, func(c rune) bool { return !strings.ContainsRune("0123456789.,+- ", c) })
	unit := t.head.unitM
	if cut < 0 {
		cut = len(text)
	} else {
		unit = depthUnits[strings.ToLower(strings.TrimSpace(text[cut:]))]
	}
	v, ok := plainNumber(strings.TrimSpace(text[:cut]))
	switch {
	case ok && cut == len(text) && unit == 0:
		return fmt.Errorf("line %d: depth %q has no unit; say %s=cm or %s=in", r.line, text, keyDepthUnit, keyDepthUnit)
	case !ok || unit == 0 || v < 0 || v*unit > maxDepthM:
		t.bad(r, findDepth, fmt.Sprintf("a depth of 0 to %d m", maxDepthM))
	default:
		f.DepthM = v * unit
	}
	return nil
}

// plainNumber reads a decimal number, its mark a point or a comma.
func plainNumber(text string) (float64, bool) {
	if strings.Trim(text, "0123456789.,+-") != "" || strings.Count(text, ",") > 1 {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return v, err == nil && !math.IsInf(v, 0)
}

var yearText = regexp.MustCompile(`(?i)^(?:(-?\d{1,5})\s*(?:-|–|to|/|bis)\s*)?(-?\d{1,5})$`)

// ParseYears reads a year, or two with a dash, a slash or "to" between them, below 0
// before our era. It is not ok where the first is after the second.
func ParseYears(text string) (from, to int, ok bool) {
	m := yearText.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return NoYear, NoYear, false
	}
	to, _ = strconv.Atoi(m[2]) // digits alone
	from = to
	if m[1] != "" {
		from, _ = strconv.Atoi(m[1])
	}
	return from, to, from <= to
}
