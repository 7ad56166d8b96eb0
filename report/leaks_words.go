package report

import (
	"encoding/base64"
	enchex "encoding/hex"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"untrod/track"
)

// plainLetters stand for those that are letters of their own, and no accents.
var plainLetters = strings.NewReplacer("ø", "o", "æ", "ae", "œ", "oe", "ł", "l", "đ", "d", "ð", "d", "þ", "th", "ı", "i")

// folded is s without case, accents and signs, one space between words and at both
// ends.
func folded(s string) string {
	var b strings.Builder
	b.WriteByte(' ')
	space := true
	for _, r := range plainLetters.Replace(norm.NFKD.String(cases.Fold().String(norm.NFKC.String(s)))) {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			b.WriteRune(r)
			space = false
		case !unicode.Is(unicode.M, r) && !space:
			b.WriteByte(' ')
			space = true
		}
	}
	if !space {
		b.WriteByte(' ')
	}
	return b.String()
}

// AddName adds the name of something; see SecretsOf for what is too short or plain.
func (s *Secrets) AddName(name string) {
	f := folded(name)
	if !telling(f) || slices.Contains(s.ids, f) || slices.Contains(s.told, f) {
		return
	}
	s.ids = append(s.ids, f)
	if j := strings.ReplaceAll(f, " ", ""); len(j) >= 8 {
		s.joined = append(s.joined, j)
	}
}

// addWords adds a name that each of its words may give away.
func (s *Secrets) addWords(name string) {
	s.AddName(name)
	for _, w := range strings.Fields(folded(name)) {
		s.AddName(w)
	}
}

// telling reports whether a folded name is worth looking for.
func telling(f string) bool {
	letters, plain := 0, true
	for _, r := range f {
		switch {
		case unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul, unicode.Thai):
			letters += 2
		case unicode.IsLetter(r):
			letters++
		}
	}
	for _, w := range strings.Fields(f) {
		_, err := strconv.Atoi(w)
		plain = plain && (err == nil || plainWords[w] || kindWords[w])
	}
	return letters >= 4 && !plain
}

// oneWordScripts write a name within other words without a space.
func oneWordScripts(f string) bool {
	return strings.ContainsFunc(f, func(r rune) bool {
		return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Thai)
	})
}

func (l *looker) names(where, text string) {
	f := folded(text)
	j := strings.ReplaceAll(f, " ", "")
	for _, id := range l.ids {
		if strings.Contains(f, id) || oneWordScripts(id) && strings.Contains(f, strings.TrimSpace(id)) {
			l.leak(where, LeakName, strings.TrimSpace(id))
		}
	}
	for _, id := range l.joined {
		if strings.Contains(j, id) {
			l.leak(where, LeakName, id)
		}
	}
}

// hash is the hash of an input in all its writings.
type hash struct {
	raw  string
	hex  string
	base []string
}

// AddHash adds a hash in hex; a shorter one than 8 bytes is left out.
func (s *Secrets) AddHash(text string) {
	raw, err := enchex.DecodeString(text)
	if err != nil || len(raw) < 8 {
		return
	}
	s.hashes = append(s.hashes, hash{string(raw), strings.ToLower(text), []string{
		base64.RawStdEncoding.EncodeToString(raw), base64.RawURLEncoding.EncodeToString(raw)}})
}

// leastHash is how many signs of a hash in a row give it away: 48 bits and more.
const leastHash = 12

var (
	hexForm    = regexp.MustCompile(`[0-9a-f]{12,}`)
	base64Form = regexp.MustCompile(`[0-9A-Za-z+/_-]{12,}`)
)

func (l *looker) sums(where, text string) {
	if len(l.hashes) == 0 {
		return
	}
	lower := strings.ToLower(text)
	for _, h := range l.hashes {
		for _, m := range hexForm.FindAllString(lower, -1) {
			if shares(m, h.hex) {
				l.leak(where, LeakHash, m)
			}
		}
		for _, m := range base64Form.FindAllString(text, -1) {
			if slices.ContainsFunc(h.base, func(b string) bool { return len(m) < 1000 && shares(m, b) || strings.Contains(m, b) }) {
				l.leak(where, LeakHash, m)
			}
		}
		if strings.Contains(text, h.raw) {
			l.leak(where, LeakHash, h.hex)
		}
	}
}

// shares reports whether a and b have leastHash signs in a row in common.
func shares(a, b string) bool {
	for i := 0; i+leastHash <= len(a); i++ {
		if strings.Contains(b, a[i:i+leastHash]) {
			return true
		}
	}
	return false
}

const monthForm = `(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|(?-i:May|MAY)|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)`

var (
	dayForms = []*regexp.Regexp{
		regexp.MustCompile(`\b(?:19|20|21)\d\d([-/.:_])(?:0?[1-9]|1[0-2])[-/.:_](?:0?[1-9]|[12]\d|3[01])(?:\D|$)`),
		regexp.MustCompile(`\b(?:0?[1-9]|[12]\d|3[01])[-/._](?:0?[1-9]|[12]\d|3[01])[-/._](?:19|20|21)\d\d\b`),
		regexp.MustCompile(`(?i)\b(?:0?[1-9]|[12]\d|3[01])(?:st|nd|rd|th|\.)?\s+(?:of\s+)?` + monthForm + `\b`),
		regexp.MustCompile(`(?i)\b` + monthForm + `\.?\s+(?:0?[1-9]|[12]\d|3[01])(?:st|nd|rd|th)?\b`),
		regexp.MustCompile(`\b(?:19|20|21)\d\d-W\d\d-[1-7]\b`),
		regexp.MustCompile(`\bD:\d{8}`), // as PDF writes it
	}
	clockForm   = regexp.MustCompile(`(?i)\b(?:[01]?\d|2[0-3]):[0-5]\d(?::[0-5]\d|\s*[ap]m|\s*z\b|\s*utc)|(?:\d[T ]|\bT)(?:[01]\d|2[0-3]):[0-5]\d`)
	compactForm = regexp.MustCompile(`\d{8,13}`)
)

// moments finds days, unless those may be told, and times of day.
func (l *looker) moments(where, text string) {
	forms := []*regexp.Regexp{clockForm}
	if !l.dates {
		forms = append(forms, dayForms...)
	}
	for _, form := range forms {
		for _, m := range form.FindAllString(text, -1) {
			l.leak(where, LeakDate, m)
		}
	}
	for _, m := range compactForm.FindAllString(text, -1) {
		if l.visitTime(m) {
			l.leak(where, LeakDate, m)
		}
	}
}

// visitTime reports whether digits are a day of the visits, 20060102, or the seconds or
// milliseconds since 1970 of one.
func (l *looker) visitTime(digits string) bool {
	if !l.first.Known() {
		return false
	}
	const aDay = 86_400_000
	n, _ := strconv.ParseInt(digits, 10, 64)
	in := func(t track.Instant) bool { return t >= l.first-aDay && t <= l.last+aDay }
	switch len(digits) {
	case 8:
		t, err := time.Parse("20060102", digits)
		return err == nil && !l.dates && in(track.At(t))
	case 10:
		return in(track.At(time.Unix(n, 0)))
	case 13:
		return in(track.At(time.UnixMilli(n)))
	}
	return false
}
