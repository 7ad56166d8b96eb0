package track

import (
	"bytes"
	"time"
)

// oddTimes are the layouts taken besides the usual one; no zone means UTC.
var oddTimes = []string{"2006-01-02T15:04Z07:00", "2006-01-02T15:04", "20060102T150405Z07"}

// parseTime reads an ISO 8601 date and time such as
// 2031-05-04T08:15:30.250+02:00: any number of decimals, of which those below a
// millisecond are cut off; zone Z, +02:00, +0200, +02 or none, which means UTC;
// letters of either case, or a space for the T. A leap second counts as the
// second after it.
func parseTime(b []byte) (Instant, bool) {
	if len(b) < 19 || b[4] != '-' || b[7] != '-' || b[13] != ':' || b[16] != ':' ||
		(b[10]|0x20 != 't' && b[10] != ' ') {
		return parseOddTime(b)
	}
	year, month, day := twoDigits(b)*100+twoDigits(b[2:]), twoDigits(b[5:]), twoDigits(b[8:])
	hour, minute, second := twoDigits(b[11:]), twoDigits(b[14:]), twoDigits(b[17:])
	if year > 9999 || month > 12 || hour > 23 || minute > 59 || second > 60 {
		return NoTime, false
	}
	midnight := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if midnight.Day() != day || month == 0 {
		return NoTime, false
	}
	millis, rest, ok := parseFraction(b[19:])
	offset, zoneOK := parseZone(rest)
	seconds := midnight.Unix() + int64(hour*3600+minute*60+second-offset)
	return Instant(seconds*1000 + int64(millis)), ok && zoneOK
}

func parseOddTime(b []byte) (Instant, bool) {
	text := string(bytes.ToUpper(b))
	for _, layout := range oddTimes {
		if t, err := time.Parse(layout, text); err == nil {
			return At(t), true
		}
	}
	return NoTime, false
}

// parseFraction reads the decimals of a second, if any, as whole milliseconds.
func parseFraction(b []byte) (millis int, rest []byte, ok bool) {
	if len(b) == 0 || (b[0] != '.' && b[0] != ',') {
		return 0, b, true
	}
	i := 1
	for weight := 100; i < len(b) && b[i]-'0' <= 9; i++ {
		millis += int(b[i]-'0') * weight
		weight /= 10
	}
	return millis, b[i:], i > 1
}

// parseZone reads a zone as seconds east of UTC.
func parseZone(b []byte) (seconds int, ok bool) {
	b = bytes.TrimLeft(b, " ")
	if len(b) == 0 || (len(b) == 1 && b[0]|0x20 == 'z') {
		return 0, true
	}
	if (len(b) != 3 && len(b) != 5 && len(b) != 6) || (b[0] != '+' && b[0] != '-') {
		return 0, false
	}
	hours, minutes := twoDigits(b[1:]), 0
	if len(b) > 3 {
		minutes = twoDigits(b[len(b)-2:])
	}
	if hours > 23 || minutes > 59 || (len(b) == 6 && b[3] != ':') {
		return 0, false
	}
	seconds = hours*3600 + minutes*60
	if b[0] == '-' {
		seconds = -seconds
	}
	return seconds, true
}

// twoDigits reads the first two bytes of b; 1000 when they are not digits,
// which every range check then refuses.
func twoDigits(b []byte) int {
	tens, ones := b[0]-'0', b[1]-'0'
	if tens > 9 || ones > 9 {
		return 1000
	}
	return int(tens)*10 + int(ones)
}
