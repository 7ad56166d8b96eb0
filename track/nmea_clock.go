package track

import "time"

const (
	noTimeOfDay = -1
	dayMillis   = 24 * 60 * 60 * 1000
)

// epoch is the fix that is being put together from its sentences.
type epoch struct {
	open     bool
	line     int // of its first sentence
	fix      Fix
	decimals int // of the position; -1 while there is none
	tod      int // milliseconds of the day, or noTimeOfDay
	day      int // as in clock
	dated    bool
	tags     [8][tagBytes]byte // of the sentences so far
	had      int               // how many
}

// epochError is what a GST said of the fix of a time of day.
type epochError struct {
	tod  int
	accM float32
}

// clock follows the date. Until a sentence gives one, days are counted from that of
// the first sentence; from then on from 1970-01-01.
type clock struct {
	tod     int
	day     int
	dated   bool
	shift   int // what to add to days counted before
	undated int // fixes kept whose day was counted so
	timed   int // of them with a time of day
	line    int // of the first such
}

// join makes the last sentence, whose time of day is in field i, part of the open
// fix, or the first of a new one.
func (n *nmeaReader) join(i int) {
	e := &n.epoch
	tod, ok := n.timeOfDay(n.f[i])
	if !ok {
		tod = noTimeOfDay
	}
	tag := [tagBytes]byte(n.f[0])
	if !e.open || tod != e.tod || e.has(tag) {
		n.flush()
		n.tick(tod)
		*e = epoch{open: true, line: n.src.line(), fix: NoFix, decimals: -1, tod: tod, day: n.clock.day, dated: n.clock.dated}
	}
	e.tags[e.had] = tag
	e.had++
}

// has reports whether the fix has had a sentence like that, or too many.
func (e *epoch) has(tag [tagBytes]byte) bool {
	for _, t := range e.tags[:e.had] {
		if t == tag {
			return true
		}
	}
	return e.had == len(e.tags)
}

// tick moves the clock to a time of day.
func (n *nmeaReader) tick(tod int) {
	if tod == noTimeOfDay {
		return
	}
	if tod < n.clock.tod-dayMillis/2 {
		n.clock.day++
	}
	n.clock.tod = tod
}

// setDay dates the open fix.
func (n *nmeaReader) setDay(day int) {
	n.clock.date(day)
	n.epoch.day, n.epoch.dated = day, true
}

func (c *clock) date(day int) {
	if !c.dated {
		c.shift, c.dated = day-c.day, true
	}
	c.day = day
}

// zda reads $--ZDA,hhmmss.ss,dd,mm,yyyy,xx,xx
func (n *nmeaReader) zda() {
	tod, ok := n.timeOfDay(n.f[1])
	if !ok || len(n.f[4]) == 0 {
		return
	}
	year, yearOK := count(n.f[4])
	month, monthOK := count(n.f[3])
	of, ofOK := count(n.f[2])
	day, dayOK := dayOf(year, month, of)
	switch {
	case !yearOK || !monthOK || !ofOK || !dayOK:
		n.badField("date", n.f[4], "is not a year, or its month or day are none")
	case n.epoch.open && n.epoch.tod == tod:
		n.setDay(day)
	default:
		n.tick(tod)
		n.clock.date(day)
	}
}

// count reads up to four digits.
func count(b []byte) (v int, ok bool) {
	for _, c := range b {
		if c-'0' > 9 {
			return 0, false
		}
		v = 10*v + int(c-'0')
	}
	return v, len(b) > 0 && len(b) <= 4
}

// shortDate reads ddmmyy as days since 1970; none is no fault.
func (n *nmeaReader) shortDate(b []byte) (day int, ok bool) {
	if len(b) == 0 {
		return 0, false
	}
	if len(b) == 6 {
		year := twoDigits(b[4:])
		if year < 80 {
			year += 100
		}
		day, ok = dayOf(1900+year, twoDigits(b[2:]), twoDigits(b))
	}
	if !ok {
		n.badField("date", b, "is not a day, month and year of two digits each")
	}
	return day, ok
}

// dayOf is the number of days from 1970-01-01 to a date; not ok when there is no
// such date.
func dayOf(year, month, day int) (days int, ok bool) {
	if year < 1 || year > 9999 || month < 1 || month > 12 || day < 1 || day > 31 {
		return 0, false
	}
	t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	seconds := t.Unix()
	return int((seconds - (seconds%86400+86400)%86400) / 86400), t.Day() == day
}

// timeOfDay reads hhmmss with any decimals, those below a millisecond cut off; none
// is no fault.
func (n *nmeaReader) timeOfDay(b []byte) (millis int, ok bool) {
	if len(b) == 0 {
		return 0, false
	}
	if len(b) >= 6 {
		hour, minute, second := twoDigits(b), twoDigits(b[2:]), twoDigits(b[4:])
		fraction, rest, fractionOK := parseFraction(b[6:])
		if hour < 24 && minute < 60 && second < 61 && fractionOK && len(rest) == 0 {
			return ((hour*60+minute)*60+second)*1000 + fraction, true
		}
	}
	n.badField("time", b, "is not a time of day")
	return 0, false
}

// flush keeps the open fix if it has a position.
func (n *nmeaReader) flush() {
	e := &n.epoch
	if !e.open || e.decimals < 0 {
		return
	}
	if e.tod != noTimeOfDay {
		e.fix.T = Instant(e.day)*dayMillis + Instant(e.tod)
		if n.err.tod == e.tod {
			e.fix.AccM = n.err.accM
		}
	}
	if !e.dated {
		n.clock.undated++
		if e.fix.T.Known() {
			n.clock.timed++
			if n.clock.timed == 1 {
				n.clock.line = e.line
			}
		}
	}
	n.fixes.add(e.fix)
}

// finish dates the fixes that came before the first date and keeps the track.
func (n *nmeaReader) finish() {
	n.flush()
	fixes := n.fixes.take()
	for i := range fixes[:n.clock.undated] {
		switch {
		case !n.clock.dated:
			fixes[i].T = NoTime
		case fixes[i].T.Known():
			fixes[i].T += Instant(n.clock.shift) * dayMillis
		}
	}
	n.noteDates()
	if len(fixes) > 0 {
		n.log.Tracks = []Track{{Segments: [][]Fix{fixes}}}
	}
}

// noteDates counts the fixes that no date came before.
func (n *nmeaReader) noteDates() {
	kind, what := NoteNoDate, "no sentence gives a date, times left out"
	if n.clock.dated {
		kind, what = NoteLateDate, "before the first date, dated backwards from it"
	}
	for range n.clock.timed {
		n.log.noteAt(kind, n.clock.line, what)
	}
}
