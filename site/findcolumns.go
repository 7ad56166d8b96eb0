package site

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"untrod/track"
)

// findColumn is what a column of a table of finds holds.
type findColumn int

const (
	findName findColumn = iota
	findLat
	findLon
	findSd
	findTime
	findDate
	findReading
	findDetector
	findDepth
	findVerdict
	findMaterial
	findFrom
	findTo
	findYears
	findNote
	findVisit
	findPhotos
	findColumnCount
)

// findColumnWords are our word for each meaning and the names it goes by in
// heads, in the form of findKey, the surest first.
var findColumnWords = [findColumnCount]struct {
	word  string
	names []string
}{
	findName:     {"name", []string{"name", "find", "object", "item", "title", "what", "label", "fund", "objekt", "bezeichnung", "nom", "naam"}},
	findLat:      {"lat", []string{"lat", "latitude", "gpslatitude", "breitengrad", "breite", "y"}},
	findLon:      {"lon", []string{"lon", "lng", "long", "longitude", "gpslongitude", "längengrad", "länge", "laenge", "x"}},
	findSd:       {"sd", []string{"sd", "uncertainty"}},
	findTime:     {"time", []string{"datetime", "dateandtime", "timestamp", "timeutc", "utc", "time", "zeit", "uhrzeit"}},
	findDate:     {"date", []string{"date", "datefound", "datum", "day", "found"}},
	findReading:  {"reading", []string{"reading", "targetnumber", "targetid", "tid", "vdi", "signal", "leitwert"}},
	findDetector: {"detector", []string{"detector", "machine", "detektor"}},
	findDepth:    {"depth", []string{"depth", "tiefe", "profondeur", "diepte"}},
	findVerdict:  {"verdict", []string{"verdict", "keeper", "keep", "kept", "keeperscrap"}},
	findMaterial: {"material", []string{"material", "metal", "metall", "materiaal"}},
	findFrom:     {"from", []string{"from", "fromyear", "yearfrom", "datefrom", "earliest", "von"}},
	findTo:       {"to", []string{"to", "toyear", "yearto", "dateto", "latest", "bis"}},
	findYears:    {"years", []string{"years", "year", "daterange", "dated", "datierung"}},
	findNote:     {"note", []string{"note", "notes", "comment", "comments", "remarks", "description", "desc", "bemerkung", "beschreibung"}},
	findVisit:    {"visit", []string{"visit", "session", "begehung"}},
	findPhotos:   {"photos", []string{"photos", "photo", "picture", "pictures", "image", "foto", "fotos"}},
}

// Keys of a table's columns that are no columns: the order of day and month, and
// the unit of depths that do not say theirs.
const (
	keyDates     = "dates"
	keyDepthUnit = "depth-unit"
	columnNone   = "none"
)

// depthUnits are units of depth in metres. The inch and foot are the international
// ones.
var depthUnits = map[string]float64{
	"m": 1, "cm": 0.01, "mm": 0.001, "in": 0.0254, "inch": 0.0254, "inches": 0.0254, `"`: 0.0254,
	"ft": 0.3048, "feet": 0.3048, "metres": 1, "meters": 1,
}

// findHead is what the head of a table of finds says.
type findHead struct {
	at    [findColumnCount]int // -1 for none
	names []string
	keys  []string // of the names
	unitM float64  // of depths, 0 where not said
	order DateOrder
}

// headOf finds the columns in a line; it is an error where the line does not have
// those asked for, or names fewer than two.
func headOf(line []string, asked track.Columns) (findHead, error) {
	h := findHead{names: line, order: DateOrder(asked[keyDates]), unitM: depthUnits[asked[keyDepthUnit]]}
	for _, name := range line {
		key, _ := findKey(name)
		h.keys = append(h.keys, key)
	}
	taken := map[int]bool{}
	for m := range findColumnCount {
		h.at[m] = -1
		if want, ok := asked[findColumnWords[m].word]; ok && want != columnNone {
			i := columnNamed(line, want)
			if i < 0 {
				return h, fmt.Errorf("no column %q for %s", want, findColumnWords[m].word)
			}
			h.at[m], taken[i] = i, true
		}
	}
	known := len(taken)
	for m := range findColumnCount {
		if _, ok := asked[findColumnWords[m].word]; !ok && h.guess(m, taken) {
			known++
		}
	}
	if known < 2 {
		return h, errors.New("no line names the columns")
	}
	if i := h.at[findDepth]; i >= 0 && h.unitM == 0 {
		_, unit := findKey(line[i])
		h.unitM = depthUnits[unit]
	}
	return h, nil
}

// guess takes for m the first free column with its surest name.
func (h *findHead) guess(m findColumn, taken map[int]bool) bool {
	for _, name := range findColumnWords[m].names {
		for i, key := range h.keys {
			if key == name && !taken[i] {
				h.at[m], taken[i] = i, true
				return true
			}
		}
	}
	return false
}

// columnNamed is the column of a name or number, -1 for none.
func columnNamed(line []string, want string) int {
	if i := slices.Index(line, want); i >= 0 {
		return i
	}
	key, _ := findKey(want)
	if i := slices.IndexFunc(line, func(s string) bool { k, _ := findKey(s); return k == key && k != "" }); i >= 0 {
		return i
	}
	if n, err := strconv.Atoi(want); err == nil && n >= 1 && n <= len(line) {
		return n - 1
	}
	return -1
}

// findKey is a column's name in lower case without punctuation, and the unit at
// its end, which is no part of the name.
func findKey(head string) (key, unit string) {
	words := strings.FieldsFunc(strings.ToLower(head), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if n := len(words); n > 1 && depthUnits[words[n-1]] > 0 {
		words, unit = words[:n-1], words[n-1]
	}
	return strings.Join(words, ""), unit
}

// checkFindColumns refuses keys that mean nothing.
func checkFindColumns(asked track.Columns) error {
	var words []string
	for _, w := range findColumnWords {
		words = append(words, w.word)
	}
	for _, key := range slices.Sorted(maps.Keys(asked)) {
		switch v := asked[key]; {
		case key == keyDates && v != string(DayFirst) && v != string(MonthFirst):
			return fmt.Errorf("order of dates %q: must be %s or %s", v, DayFirst, MonthFirst)
		case key == keyDepthUnit && depthUnits[v] == 0:
			return fmt.Errorf("unit of depths %q: must be cm, mm, m, in or ft", v)
		case key != keyDates && key != keyDepthUnit && !slices.Contains(words, key):
			return fmt.Errorf("column %q: must be one of %s, %s or %s", key, strings.Join(words, ", "), keyDates, keyDepthUnit)
		}
	}
	return nil
}

// String says what was taken for what, in the table's own words.
func (h findHead) String() string {
	var said, unused []string
	used := map[int]bool{}
	for m := range findColumnCount {
		if i := h.at[m]; i >= 0 {
			used[i] = true
			said = append(said, fmt.Sprintf("%s from %q", findColumnWords[m].word, h.names[i]))
		}
	}
	for i, name := range h.names {
		if !used[i] && name != "" {
			unused = append(unused, strconv.Quote(name))
		}
	}
	text := strings.Join(said, ", ")
	if len(unused) > 0 {
		text += "; not used: " + strings.Join(unused, ", ")
	}
	return text
}
