package main

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/spf13/pflag"

	"untrod/grid"
	"untrod/site"
	"untrod/site/book"
	"untrod/track"
)

// unsaid takes a field of a find out.
const unsaid = "none"

// findFields are the flags that say what is known of a find.
type findFields struct {
	set                         *pflag.FlagSet
	at, when, zone, visit       string
	reading, detector, material string
	verdict, note               string
	from, to                    string
	depth, accuracy             string
	photos                      []string
	inside                      bool
}

func newFindFields() *findFields {
	o := &findFields{set: newFlagSet()}
	f := o.set
	f.StringVar(&o.at, "at", "", "`place` as latitude,longitude in degrees, such as 47.31,-31.2")
	f.StringVar(&o.accuracy, "accuracy", "", "how good that place is, the `radius` that is right 95 times in 100 (default: as good as the logs)")
	f.StringVar(&o.when, "time", "", "`when` it was found, such as 2026-04-11T10:20; without a place it goes where you then stood")
	zoneFlag(f, &o.zone)
	f.StringVar(&o.visit, "visit", "", "`visit` by number or name (default: the one of that time)")
	f.StringVar(&o.reading, "reading", "", "target `number` of the detector as you noted it: 76, 72-78, 'low 70s'")
	f.StringVar(&o.detector, "detector", "", "`name` of the detector: readings of two are not alike")
	f.StringVar(&o.depth, "depth", "", "`depth` it lay at, such as 12cm or 5in")
	f.StringVar(&o.verdict, "verdict", "", "`what` it is worth: keeper, scrap or unknown")
	f.StringVar(&o.material, "material", "", "`what` it is made of")
	f.StringVar(&o.from, "from", "", "first `year` it may date from, below 0 before our era")
	f.StringVar(&o.to, "to", "", "last `year` it may date from")
	f.StringVar(&o.note, "note", "", "any `text`")
	f.StringArrayVar(&o.photos, "photo", nil, "`file` of a photo; may be repeated")
	insideFlag(f, &o.inside)
	return o
}

func zoneFlag(f *pflag.FlagSet, to *string) {
	f.StringVar(to, "zone", "", "`offset` from UTC of times that do not say theirs, such as +02:00 (default UTC)")
}

func insideFlag(f *pflag.FlagSet, to *bool) {
	f.BoolVar(to, "inside", false, "keep photos inside the book, not in the folder beside it")
}

// apply puts what was given into a find; the value none takes a field out.
func (o *findFields) apply(f *site.Find, b *book.Book) error {
	for _, field := range []struct {
		name, text string
		put        func(text string) error
		out        func()
	}{
		{"at", o.at, func(s string) (err error) { f.Pos, err = parsePlace(s); f.SdM = math.NaN(); return err }, func() { f.Pos, f.SdM = site.NoFind.Pos, math.NaN() }},
		{"accuracy", o.accuracy, func(s string) (err error) { f.SdM, err = parseSd(s); return err }, func() { f.SdM = math.NaN() }},
		{"time", o.when, func(s string) error { return o.time(f, b, s) }, func() { f.T = track.NoTime }},
		{"visit", o.visit, func(s string) (err error) { f.Session, err = visitCalled(b, s); return err }, func() { f.Session = 0 }},
		{"reading", o.reading, text(&f.Reading), blank(&f.Reading)},
		{"detector", o.detector, text(&f.Detector), blank(&f.Detector)},
		{"material", o.material, text(&f.Material), blank(&f.Material)},
		{"note", o.note, text(&f.Note), blank(&f.Note)},
		{"depth", o.depth, func(s string) (err error) { f.DepthM, err = lengths.parse(s); return err }, func() { f.DepthM = math.NaN() }},
		{"verdict", o.verdict, func(s string) error { return putVerdict(f, s) }, func() { f.Verdict = site.UnknownVerdict }},
		{"from", o.from, year(&f.From), func() { f.From = site.NoYear }},
		{"to", o.to, year(&f.To), func() { f.To = site.NoYear }},
	} {
		if !o.set.Changed(field.name) {
			continue
		}
		if field.text == unsaid || field.text == "" {
			field.out()
		} else if err := field.put(field.text); err != nil {
			return usagef("--%s %q: %w", field.name, field.text, err)
		}
	}
	if err := f.Validate(); err != nil {
		return &usageError{err}
	}
	return nil
}

func text(to *string) func(string) error { return func(s string) error { *to = s; return nil } }
func blank(to *string) func()            { return func() { *to = "" } }

func year(to *int) func(string) error {
	return func(s string) (err error) {
		if *to, err = strconv.Atoi(s); err != nil {
			return errors.New("not a year, such as 1750 or -50")
		}
		return nil
	}
}

func putVerdict(f *site.Find, s string) error {
	v, ok := site.ParseVerdict(s)
	if !ok {
		return errors.New("not keeper, scrap or unknown")
	}
	f.Verdict = v
	return nil
}

// time puts a moment into a find; of a day alone only the visit is known.
func (o *findFields) time(f *site.Find, b *book.Book, s string) error {
	zone, err := parseZone(o.zone)
	if err != nil {
		return err
	}
	m, ambiguous, ok := site.ParseMoment(s, "", zone)
	switch {
	case !ok:
		return errors.New("not a date and time, such as 2026-04-11T10:20")
	case ambiguous:
		return errors.New("the day or the month may come first: write it as 2026-04-11T10:20")
	}
	if f.T = m.T; m.T.Known() || o.set.Changed("visit") {
		return nil
	}
	sessions, err := b.Sessions()
	if err != nil {
		return err
	}
	if f.Session = visitOfDay(sessions, m); f.Session == 0 {
		return errors.New("no time of day, and not just one visit on that day: give the time, or --visit")
	}
	return nil
}

// visitOfDay is the one visit that shares time with a day; 0 for none or several.
func visitOfDay(sessions []book.Session, day site.Moment) (id int64) {
	for _, s := range sessions {
		if !s.Start.Known() || s.End < day.From || s.Start >= day.To {
			continue
		}
		if id != 0 {
			return 0
		}
		id = s.ID
	}
	return id
}

func visitCalled(b *book.Book, word string) (int64, error) {
	sessions, err := b.Sessions()
	if err != nil {
		return 0, err
	}
	hits, err := findVisits(sessions, word)
	if err == nil && len(hits) > 1 {
		err = fmt.Errorf("%d visits come from that file: give the number", len(hits))
	}
	if err != nil {
		return 0, err
	}
	return hits[0].ID, nil
}

// parsePlace reads a latitude and a longitude with something between them; where
// the text can be parted in two ways that differ it is refused.
func parsePlace(text string) (grid.LonLat, error) {
	var hits []grid.LonLat
	for i, r := range text {
		if !strings.ContainsRune(",; ", r) {
			continue
		}
		p, ok := track.ParseLonLat(strings.TrimSpace(text[:i]), strings.TrimSpace(text[i+1:]))
		if ok && (len(hits) == 0 || hits[0] != p) {
			hits = append(hits, p)
		}
	}
	switch len(hits) {
	case 1:
		return hits[0], nil
	case 0:
		return grid.LonLat{}, errors.New("not a latitude and a longitude, such as 47.31,-31.2")
	}
	return grid.LonLat{}, errors.New("may be parted in two ways: write it as 47.31,-31.2")
}

// parseSd reads a radius that holds 95 % and returns the standard deviation.
func parseSd(s string) (float64, error) {
	m, err := lengths.parse(s)
	if err != nil {
		return 0, err
	}
	return track.SigmaOf(m, "95")
}

// parseZone reads an offset from UTC; "" is UTC.
func parseZone(s string) (*time.Location, error) {
	if s == "" || strings.EqualFold(s, "utc") || strings.EqualFold(s, "z") {
		return time.UTC, nil
	}
	for _, layout := range []string{"-07:00", "-0700", "-07", "-7"} {
		if t, err := time.Parse(layout, s); err == nil {
			_, east := t.Zone()
			return time.FixedZone("", east), nil
		}
	}
	return nil, usagef("--zone %q: not an offset from UTC, such as +02:00", s)
}

// keepPhotos keeps files as photos of a find.
func keepPhotos(b *book.Book, f *site.Find, paths []string, inside bool) error {
	for _, path := range paths {
		p, err := keepPhoto(b, path, inside)
		if err != nil {
			return err
		}
		f.Photos = append(f.Photos, p.SHA256)
	}
	return nil
}

func keepPhoto(b *book.Book, path string, inside bool) (book.Photo, error) {
	in, err := openNamed(path)
	if err != nil {
		return book.Photo{}, err
	}
	defer in.Close()
	return b.KeepPhoto(in, baseName(path), inside)
}

// oneLine is text that comes from files, fit for a line of a terminal.
func oneLine(text string) string {
	return strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
			return ' '
		}
		return r
	}, text)), " ")
}
