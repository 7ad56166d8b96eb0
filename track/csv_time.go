package track

import (
	"bytes"
	"fmt"
	"time"
)

const (
	orderDayFirst   = "dmy"
	orderMonthFirst = "mdy"
)

// dateReader reads the dates of one file, which all have one style.
type dateReader struct {
	order string // orderDayFirst or orderMonthFirst, "" while open
	style dateStyle
	open  string // a date that has both readings
	// swapped is set when a date shows that the month comes first, and those
	// before were read the other way.
	swapped bool
}

type dateStyle uint8

const (
	styleUnknown dateStyle = iota
	styleYearFirst
	styleYearLast
)

// time reads the row's time.
func (c *csvReader) time() Instant {
	text, date, m := c.field(columnTime), c.field(columnDate), columnTime
	if len(text) == 0 {
		text, date, m = date, nil, columnDate
	}
	if len(text) == 0 {
		return NoTime
	}
	t, ok := NoTime, false
	if len(date) > 0 {
		c.joined = append(append(append(c.joined[:0], date...), ' '), text...)
		t, ok = c.dates.read(c.joined)
	}
	if !ok {
		t, ok = c.dates.read(text)
	}
	if c.dates.swapped {
		c.dates.swapped = false
		c.flush()
		c.log.eachTime(swapDayMonth)
	}
	c.count(m, ok)
	switch {
	case !ok:
		c.badField(m, "is not "+columnWords[columnTime].of)
		return NoTime
	case !t.Known():
		c.badField(m, "has no time of day")
	}
	return t
}

// read reads a date and time; NoTime for a date alone.
func (d *dateReader) read(text []byte) (t Instant, ok bool) {
	if v, isNumber := parseNumber(text); isNumber {
		return sinceEpoch(v)
	}
	if len(text) > 4 && twoDigits(text)+twoDigits(text[2:]) < 1000 && (text[4] == '-' || text[4]-'0' <= 9) {
		if t, ok = parseTime(text); ok {
			return t, d.is(styleYearFirst)
		}
	}
	n := bytes.IndexAny(text, " T,")
	if n < 0 {
		n = len(text)
	}
	day, ok := d.day(text[:n])
	rest := bytes.TrimLeft(text[n:], " T,")
	if !ok || len(rest) == 0 {
		return NoTime, ok
	}
	millis, rest, ok := parseClock(rest)
	seconds, zoneOK := parseZone(rest)
	if d.style == styleYearLast && seconds != 0 {
		zoneOK = false // which day it is in UTC must not depend on what is the month
	}
	return Instant(day)*dayMillis + Instant(millis-seconds*1000), ok && zoneOK
}

// sinceEpoch takes a number as milliseconds since 1970 if it is large, else as
// seconds. What is too small for a date of the last decades counts from another start.
func sinceEpoch(v float64) (t Instant, ok bool) {
	const leastSeconds, leastMillis, mostMillis = 1e8, 1e11, 1e14 // 1973, 1973 and 5138
	switch {
	case v < leastSeconds || v > mostMillis:
		return NoTime, false
	case v < leastMillis:
		v *= 1000
	}
	return Instant(v + 1e-3), true // seconds in binary may lie just below their decimals
}

// is reports whether dates of style s can be in the file.
func (d *dateReader) is(s dateStyle) bool {
	if d.style == styleUnknown {
		d.style = s
	}
	return d.style == s
}

// day reads three numbers parted by the same of / . and -, the year of four digits
// first or last.
func (d *dateReader) day(text []byte) (days int, ok bool) {
	i := bytes.IndexAny(text, "/.-")
	if i < 0 {
		return 0, false
	}
	j := bytes.LastIndexByte(text, text[i])
	if i == j {
		return 0, false
	}
	a, aOK := count(text[:i])
	b, bOK := count(text[i+1 : j])
	c, cOK := count(text[j+1:])
	switch {
	case !aOK || !bOK || !cOK:
		return 0, false
	case i == 4:
		days, ok = dayOf(a, b, c)
		return days, ok && d.is(styleYearFirst)
	case len(text)-j-1 != 4:
		return 0, false
	}
	return d.yearLast(text, [3]int{a, b, c})
}

// yearLast settles which of two numbers is the day, once one is over 12. Until
// then it takes the first for it.
func (d *dateReader) yearLast(text []byte, n [3]int) (days int, ok bool) {
	first, second := n[0], n[1]
	asDay, dayOK := dayOf(n[2], second, first)
	asMonth, monthOK := dayOf(n[2], first, second)
	if !dayOK && !monthOK || !d.is(styleYearLast) {
		return 0, false
	}
	switch {
	case d.order == orderDayFirst:
		return asDay, dayOK
	case d.order == orderMonthFirst:
		return asMonth, monthOK
	case dayOK && monthOK:
		if first != second && d.open == "" {
			d.open = quoted(fieldText(text))
		}
		return asDay, true
	case dayOK:
		d.order = orderDayFirst
		return asDay, true
	}
	d.order, d.swapped = orderMonthFirst, true
	return asMonth, true
}

// settled is an error when the order of day and month stayed open.
func (d *dateReader) settled() error {
	if d.order != "" || d.open == "" {
		return nil
	}
	return fmt.Errorf("date %s may have the day or the month first, and no date in the file tells; say %s=%s or %s=%s",
		d.open, columnOrder, orderDayFirst, columnOrder, orderMonthFirst)
}

// swapDayMonth reads a date the other way.
func swapDayMonth(t Instant) Instant {
	v := t.Time()
	day := time.Date(v.Year(), time.Month(v.Day()), int(v.Month()), 0, 0, 0, 0, time.UTC)
	return At(day) + (t%dayMillis+dayMillis)%dayMillis
}

// eachTime changes every known time of a log.
func (l *Log) eachTime(change func(Instant) Instant) {
	set := func(f *Fix) {
		if f.T.Known() {
			f.T = change(f.T)
		}
	}
	for _, t := range l.Tracks {
		for _, s := range t.Segments {
			for i := range s {
				set(&s[i])
			}
		}
	}
	for i := range l.Waypoints {
		set(&l.Waypoints[i].Fix)
	}
}

// parseClock reads the time of day at the beginning of b: hours, minutes and, if given,
// seconds with any decimals, AM or PM after it; rest is a zone or nothing.
func parseClock(b []byte) (millis int, rest []byte, ok bool) {
	colon := bytes.IndexByte(b, ':')
	if colon < 1 || colon > 2 || len(b) < colon+3 {
		return 0, b, false
	}
	hour, hourOK := count(b[:colon])
	minute, second, fraction := twoDigits(b[colon+1:]), 0, 0
	if rest, ok = b[colon+3:], true; len(rest) >= 3 && rest[0] == ':' {
		second = twoDigits(rest[1:])
		fraction, rest, ok = parseFraction(rest[3:])
	}
	rest = bytes.ToUpper(bytes.TrimSpace(rest))
	for i, half := range []string{"AM", "PM"} {
		if after, found := bytes.CutPrefix(rest, []byte(half)); found {
			ok = ok && hour >= 1 && hour <= 12
			hour, rest = hour%12+12*i, after
		}
	}
	if s := string(rest); s == "UTC" || s == "GMT" {
		rest = nil
	}
	ok = ok && hourOK && hour < 24 && minute < 60 && second < 61
	return ((hour*60+minute)*60+second)*1000 + fraction, rest, ok
}
