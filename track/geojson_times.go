package track

import (
	"encoding/json"
	"fmt"
)

// times reads the times of a feature's positions: an array of them, or one of such
// arrays.
func (g *geoReader) times(f *featureRead) error {
	is, err := g.begins('[', "times")
	for is && err == nil && g.d.More() {
		var tok json.Token
		if tok, err = g.token(); err != nil {
			break
		}
		var list []Instant
		nested := tok == json.Delim('[')
		if !nested {
			list = append(list, g.timeOf(tok))
			err = g.skip(tok)
		}
		if err == nil {
			list, err = g.timeList(list)
		}
		if len(list) > 0 {
			f.times = append(f.times, list)
		}
		if !nested {
			return err
		}
	}
	if is && err == nil {
		_, err = g.token()
	}
	return err
}

// timeList reads the times left in an array, and its end.
func (g *geoReader) timeList(list []Instant) ([]Instant, error) {
	for g.d.More() {
		raw, err := g.value()
		if err != nil {
			return list, err
		}
		list = append(list, g.rawTime(raw))
	}
	_, err := g.token()
	return list, err
}

func (g *geoReader) timeOf(tok json.Token) Instant {
	switch v := tok.(type) {
	case nil:
		return NoTime
	case json.Number:
		return g.time([]byte(v))
	case string:
		return g.time([]byte(v))
	}
	g.note(NoteBadField, "a time that is no text or number")
	return NoTime
}

func (g *geoReader) rawTime(raw rawJSON) Instant {
	if n := len(raw); n < 2 || raw[0] != '"' {
		if string(raw) == "null" {
			return NoTime
		}
		return g.time(raw)
	} else if t, ok := parseTime(raw[1 : n-1]); ok {
		return t
	}
	text := ""
	_ = json.Unmarshal(raw, &text) // is valid
	return g.time([]byte(text))
}

// time reads a date and time, or a number of seconds or milliseconds since 1970.
func (g *geoReader) time(text []byte) Instant {
	if len(text) == 0 {
		return NoTime
	}
	if v, isNumber := parseNumber(text); isNumber {
		if t, ok := sinceEpoch(v); ok {
			return t
		}
	} else if t, ok := parseTime(text); ok {
		return t
	}
	g.badField("time", text, "is not a date and time")
	return NoTime
}

// pair gives the lines of a feature, or its points, their times.
func (g *geoReader) pair(f *featureRead, cut bool) {
	lines := f.lines
	if len(lines) == 0 {
		lines = [][]Fix{f.points}
	}
	if len(f.times) == 0 || len(lines[0]) == 0 {
		return
	}
	times, n := 0, 0
	for i, line := range lines {
		if i < len(f.times) {
			times += len(f.times[i])
		}
		n += len(line)
	}
	perLine := len(f.times) > 1
	whole := times == n && (!perLine || len(f.times) == len(lines))
	rest := f.times[0]
	for i, line := range lines {
		if perLine {
			if rest = nil; i < len(f.times) {
				rest = f.times[i]
			}
			whole = whole && len(rest) == len(line)
		}
		for j := range line[:min(len(line), len(rest))] {
			line[j].T = rest[j]
		}
		rest = rest[min(len(line), len(rest)):]
	}
	if !whole && !cut {
		g.note(NoteBadField, fmt.Sprintf("%d times for %d positions", times, n))
	}
}
