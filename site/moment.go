package site

import (
	"strings"
	"time"

	"untrod/track"
)

// DateOrder says which of two numbers of a date such as 3/4/2031 is the day.
type DateOrder string

// Orders of a date.
const (
	DayFirst   DateOrder = "dmy"
	MonthFirst DateOrder = "mdy"
)

// Moment is a time as somebody wrote it down. With a date alone T is NoTime, and
// From and To bound the day.
type Moment struct {
	T        track.Instant
	From, To track.Instant // the moment, or the whole of its day, To not included
}

var (
	yearFirst = []string{"2006-1-2", "2006/1/2", "2006.1.2", "2006:1:2", "20060102"}
	dayFirst  = []string{"2.1.2006", "2/1/2006", "2-1-2006", "2 Jan 2006", "2 January 2006"}
	monFirst  = []string{"1/2/2006", "1-2-2006", "1.2.2006", "Jan 2 2006", "January 2 2006"}
	clocks    = []string{"15:04:05", "15:04", "3:04:05PM", "3:04PM", "3:04:05 PM", "3:04 PM", "150405"}
	zones     = []string{"", "Z07:00", "Z0700", "Z07", " Z07:00", " Z0700", " MST"}
)

// ParseMoment reads a date, or a date and a time of day with or without decimals of
// a second and zone, as people and ISO 8601 write them: 2031-05-24T10:20:00+02:00,
// 24.05.2031 10:20, 5/24/2031 2:05 PM. A zone by name must be UTC or GMT. zone is
// that of times that do not say theirs, nil for UTC. It is not ok when text is none
// of these; ambiguous tells that order is "" and the two readings differ.
func ParseMoment(text string, order DateOrder, zone *time.Location) (m Moment, ambiguous, ok bool) {
	if zone == nil {
		zone = time.UTC
	}
	text = strings.Join(strings.Fields(strings.ReplaceAll(text, ",", " ")), " ")
	if m, ok = parseWith(yearFirst, text, zone); ok {
		return m, false, true
	}
	day, dayOK := parseWith(dayFirst, text, zone)
	month, monthOK := parseWith(monFirst, text, zone)
	switch {
	case order == MonthFirst:
		return month, false, monthOK
	case order == DayFirst || !monthOK:
		return day, false, dayOK
	case !dayOK:
		return month, false, true
	}
	return day, day != month, true
}

// parseWith tries dates of some layouts, alone and with a time of day.
func parseWith(dates []string, text string, zone *time.Location) (Moment, bool) {
	date, clock := partTime(text)
	for _, d := range dates {
		day, err := time.ParseInLocation(d, date, zone)
		if err != nil {
			continue
		}
		if clock == "" {
			return Moment{T: track.NoTime, From: track.At(day), To: track.At(day.AddDate(0, 0, 1))}, true
		}
		t, ok := parseClock(day.Format("2006-01-02 "), clock, zone)
		return Moment{T: track.At(t), From: track.At(t), To: track.At(t) + 1}, ok
	}
	return Moment{}, false
}

// partTime parts the date from the time of day, which is "" where there is none.
func partTime(text string) (date, clock string) {
	end := strings.IndexByte(text, ':')
	if end < 0 || end < 6 { // none, or part of a date such as 2031:05:24
		if i := strings.LastIndexAny(text, "Tt "); end < 0 && i == 8 || end == 4 && i == 10 {
			return text[:i], text[i+1:]
		}
		return text, ""
	}
	i := strings.LastIndexAny(text[:end], "Tt ")
	if i < 0 {
		return text, ""
	}
	return text[:i], text[i+1:]
}

func parseClock(day, clock string, zone *time.Location) (time.Time, bool) {
	clock = strings.ToUpper(clock)
	for _, c := range clocks {
		for _, z := range zones {
			t, err := time.ParseInLocation("2006-01-02 "+c+z, day+clock, zone)
			if err != nil {
				continue
			}
			if name, _ := t.Zone(); z == " MST" && name != "UTC" && name != "GMT" {
				return t, false // its offset would be made up
			}
			return t, true
		}
	}
	return time.Time{}, false
}
