package track

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Columns says which column of a table means what, where the header does not or
// is not to be believed: by meaning, the column's name in the header, or its
// number counted from 1, or "none". Meanings are lat, lon, time, date (where the time has
// only the time of day), ele, hdop, pdop, accuracy, sats, track, name and desc. The
// key "dates" is not a column: it says in which order dates such as 3/4/2031 are, "dmy"
// or "mdy". What is not said is guessed; nil guesses all.
type Columns map[string]string

const (
	columnNone  = "none"
	columnOrder = "dates"
)

// column is what a column means.
type column int

const (
	columnLat column = iota
	columnLon
	columnTime
	columnDate
	columnEle
	columnHDOP
	columnPDOP
	columnAccuracy
	columnSats
	columnTrack
	columnName
	columnDesc
	columnCount
)

type columnWord struct {
	word, of string
	names    []string
}

// columnWords are our word for each meaning, what its values are, and the names that it
// goes by in headers, in the form of columnKey, the surest first.
var columnWords = [columnCount]columnWord{
	columnLat: {"lat", "degrees of latitude", []string{"latitude", "lat", "gpslatitude", "gpslat", "breitengrad", "breite",
		"geographischebreite", "latitud", "breedtegraad", "y"}},
	columnLon: {"lon", "degrees of longitude", []string{"longitude", "lon", "lng", "long", "gpslongitude", "gpslon", "gpslng", "längengrad",
		"laengengrad", "länge", "laenge", "geographischelänge", "longitud", "lengtegraad", "x"}},
	columnTime: {"time", "a date and time", []string{"timeutc", "utctime", "datetimeutc", "utcdatetime", "utc", "timestamp", "datetime",
		"dateandtime", "isotime", "timestampms", "timems", "unixtime", "unixtimestamp", "epoch", "time", "zeitstempel", "zeit", "uhrzeit", "heure", "hora", "tijd"}},
	columnDate: {"date", "a date", []string{"dateutc", "utcdate", "date", "datum", "fecha"}},
	columnEle: {"ele", "a number", []string{"elevation", "ele", "elev", "altitude", "alt", "height", "höhe", "hoehe",
		"altitud", "hoogte", "z"}},
	columnHDOP: {"hdop", "a number", []string{"hdop"}},
	columnPDOP: {"pdop", "a number", []string{"pdop"}},
	columnAccuracy: {"accuracy", "a number", []string{"horizontalaccuracy", "accuracyhorizontal", "haccuracy", "hacc", "accuracy", "acc",
		"gpsaccuracy", "epe", "eph", "ehpe", "genauigkeit", "précision"}},
	columnSats: {"sats", "a count", []string{"satellites", "sats", "sat", "numsats", "numsat", "nsats", "nsat",
		"satellitesused", "satelliten"}},
	columnTrack: {"track", "a name", []string{"track", "trackname", "trackid", "trackfid", "session", "sessionname", "sessionid",
		"segment", "segmentid"}},
	columnName: {"name", "a name", []string{"name", "waypoint", "title", "label", "bezeichnung", "nom", "nombre", "naam"}},
	columnDesc: {"desc", "text", []string{"description", "desc", "comment", "notes", "note", "remarks", "beschreibung", "bemerkung"}},
}

// remedy says what to do about a column that was taken wrongly.
func (m column) remedy() string {
	word := columnWords[m].word
	if m <= columnLon {
		return "say " + word + "=COLUMN"
	}
	return "say " + word + "=COLUMN or " + word + "=" + columnNone
}

// check refuses words that mean nothing.
func (c Columns) check() error {
	for _, key := range slices.Sorted(maps.Keys(c)) {
		switch asked := c[key]; {
		case key == columnOrder && (asked == orderDayFirst || asked == orderMonthFirst):
		case key == columnOrder:
			return fmt.Errorf("order of dates %q: must be %s or %s", asked, orderDayFirst, orderMonthFirst)
		case !slices.ContainsFunc(columnWords[:], func(w columnWord) bool { return w.word == key }):
			return fmt.Errorf("column %q: must be one of %s", key, allColumnWords())
		}
	}
	return nil
}

func allColumnWords() string {
	var all []string
	for _, w := range columnWords {
		all = append(all, w.word)
	}
	return strings.Join(all, ", ")
}

// columnUnits are dropped from the end of a column's name.
var columnUnits = map[string]bool{"deg": true, "degrees": true, "dd": true, "wgs84": true, "m": true, "meter": true,
	"meters": true, "metre": true, "metres": true, "ft": true, "feet": true}

// parted sets brackets apart as words of their own.
var parted = strings.NewReplacer("(", " ( ", "[", " ( ", ")", " ) ", "]", " ) ")

// columnKey is a column's name in lower case without punctuation, brackets and units, and
// whether the unit is feet. UTC in brackets is kept.
func columnKey(header string) (key string, feet bool) {
	var words []string
	inside := 0
	for _, word := range strings.FieldsFunc(parted.Replace(strings.ToLower(header)), isPunctuation) {
		feet = feet || word == "ft" || word == "feet"
		switch {
		case word == "(":
			inside++
		case word == ")":
			inside--
		case inside <= 0:
			words = append(words, word)
		case word == "utc" || word == "gmt":
			words = append(words, "utc")
		}
	}
	for len(words) > 1 && columnUnits[words[len(words)-1]] {
		words = words[:len(words)-1]
	}
	return strings.Join(words, ""), feet
}

func isPunctuation(r rune) bool {
	return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '(' && r != ')'
}

// find returns the column that the user names for m in a header, -1 for none; not
// ok when the header does not have it.
func (c Columns) find(m column, header []string) (i int, ok bool) {
	asked := c[columnWords[m].word]
	if asked == columnNone {
		return -1, m > columnLon
	}
	if i = slices.Index(header, asked); i >= 0 {
		return i, true
	}
	key, _ := columnKey(asked)
	i = slices.IndexFunc(header, func(h string) bool { k, _ := columnKey(h); return k == key && k != "" })
	if i >= 0 {
		return i, true
	}
	n, err := strconv.Atoi(asked)
	return n - 1, err == nil && n >= 1 && n <= len(header)
}

// errNoHeader is the reason that a line is not the header.
var errNoHeader = errors.New("no header")

// headed finds the columns in a line, if it is the header.
func (l *layout) headed(header []string, columns Columns) error {
	taken := map[int]bool{}
	for m := range columnCount {
		l.at[m] = -1
		if _, asked := columns[columnWords[m].word]; asked {
			i, ok := columns.find(m, header)
			if !ok {
				return errNoHeader
			}
			l.at[m], taken[i] = i, true
		}
	}
	keys := make([]string, len(header))
	feet := make([]bool, len(header))
	for i, h := range header {
		keys[i], feet[i] = columnKey(h)
	}
	for m := range columnCount {
		if _, asked := columns[columnWords[m].word]; !asked {
			l.guess(m, keys, taken)
		}
		l.feet[m] = l.at[m] >= 0 && feet[l.at[m]] && (m == columnEle || m == columnAccuracy)
	}
	if l.at[columnLat] < 0 || l.at[columnLon] < 0 || isAngle(header[l.at[columnLat]]) || isAngle(header[l.at[columnLon]]) {
		return errNoHeader
	}
	l.header, l.width = header, len(header)
	return nil
}

// guess takes for m the first free column with its surest name.
func (l *layout) guess(m column, keys []string, taken map[int]bool) {
	for _, name := range columnWords[m].names {
		for i, key := range keys {
			if key == name && !taken[i] {
				l.at[m], taken[i] = i, true
				return
			}
		}
	}
}

func isAngle(text string) bool {
	_, ok := parseAngle([]byte(text), 'N', 'S')
	_, also := parseAngle([]byte(text), 'E', 'W')
	return ok || also
}
