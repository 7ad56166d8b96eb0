package track

import (
	"bytes"
	"errors"
	"io"
)

// Kinds of notes of NMEA 0183 logs; none takes a fix out.
const (
	NoteBadChecksum NoteKind = "bad-checksum" // a damaged sentence, left out
	NoteNoDate      NoteKind = "no-date"      // times of day without any date; left out
	NoteLateDate    NoteKind = "late-date"    // fixes before the first date, dated from it
)

// ReadNMEA reads a log of NMEA 0183 sentences in one pass, as one track in one
// segment, and the waypoints sent with it. name stands in messages.
//
// A sentence is taken from its dollar sign, whatever talker sends it and whatever
// stands before it; other text and binary output between sentences is passed over.
// A wrong checksum leaves the sentence out, and so does a missing one in a log
// whose sentences have had them; both with a note. A sentence over 1 kB is cut there.
//
// RMC, GGA, GNS and GLL give fixes, GST their accuracy, GSA their PDOP and whether
// they are two- or three-dimensional, ZDA the date, WPL waypoints; of waypoints sent
// again and again one is kept. What else there is, routes too, is passed over.
// Sentences of the same time of day are one fix, until one of the same talker and
// kind comes again. The position is that with the most decimals, in degrees by one exact
// rule: float64(n) / float64(60 * 10^k), n being the whole angle in units of the last
// of its k decimals of a minute. Of other values the first counts. A fix that any of
// its sentences calls invalid, or that is dead reckoned, typed in or simulated, is
// FixNone; RTK counts as FixDGPS. The elevation is GGA's and GNS's height above sea
// level.
//
// AccM is the root mean square of the horizontal error, sqrt(sLat^2 + sLon^2) with
// GST's standard deviations of latitude and longitude, or where it gives only the
// error ellipse that of its half axes: a radius that holds 63 to 68 percent of
// fixes ("rms" in [SigmaOf]).
//
// Times are UTC. The date is that of the last RMC or ZDA; without one the next day
// begins where the time of day falls by more than 12 h. Years of two digits from 80
// on are 1980 to 1999. Fixes before the first date are dated backwards from it,
// with a note; where there is no date at all, times stay missing, with a note.
//
// It fails with a *[ParseError] when the file is empty or r fails, and with an
// *[UnsupportedError] when it has none of these sentences. Time is linear in the bytes;
// memory in the fixes and waypoints, with no allocation for a single fix.
//
// Source: the sentences as listed in "NMEA Revealed", v2.24, E. S. Raymond, of
// the gpsd project (www/NMEA.adoc).
func ReadNMEA(r io.Reader, name string) (*Log, error) {
	n := &nmeaReader{src: newLookahead(r), log: &Log{Name: name, Format: "NMEA"}, epoch: epoch{tod: noTimeOfDay}}
	n.err.tod = noTimeOfDay
	if _, err := n.src.peek(1); err != nil {
		if err == io.EOF {
			err = errors.New("empty file")
		}
		return nil, &ParseError{Name: name, Err: err}
	}
	if err := n.log.ended(n.run(), n.src.line()); err != nil {
		return nil, err
	}
	if n.known == 0 {
		return nil, &UnsupportedError{Name: name, Found: "no sentence with a position", Format: "NMEA"}
	}
	n.finish()
	return n.log, nil
}

// nmeaReader holds what has been read of the log.
type nmeaReader struct {
	src    *lookahead
	log    *Log
	known  int        // sentences that mean something here
	summed bool       // one of them had a right checksum
	f      [24][]byte // the fields of the last, the tag first
	epoch  epoch      // the open fix
	err    epochError // of the last GST
	clock  clock
	fixes  fixList
	places map[placed]bool // waypoints had
}

const (
	mostSentence = 1 << 10
	tagBytes     = 5 // talker and kind
)

// run goes from dollar sign to dollar sign and returns why it ended.
func (n *nmeaReader) run() error {
	for {
		text, err := n.src.peek(mostSentence)
		if len(text) == 0 {
			return err
		}
		start := bytes.IndexByte(text, '$')
		switch {
		case start < 0:
			n.src.skip(len(text))
			continue
		case start > 0:
			n.src.skip(start)
			continue
		}
		k := sentenceKind(text[1:])
		if k == nil {
			n.src.skip(1)
			continue
		}
		body, check := cutSentence(text[1:])
		n.known++
		if n.sound(body, check) {
			n.split(body)
			k(n)
		}
		n.src.skip(1 + len(body))
	}
}

// sentenceKind returns what to do with the sentence at the beginning of b, nil for
// nothing. Talkers are two capitals or a capital and a digit; those that begin with P
// are makers' own.
func sentenceKind(b []byte) func(*nmeaReader) {
	if len(b) <= tagBytes || b[tagBytes] != ',' || b[0] == 'P' || b[0]-'A' > 25 || b[1]-'A' > 25 && b[1]-'0' > 9 {
		return nil
	}
	switch string(b[2:tagBytes]) {
	case "RMC":
		return (*nmeaReader).rmc
	case "GGA":
		return (*nmeaReader).gga
	case "GNS":
		return (*nmeaReader).gns
	case "GLL":
		return (*nmeaReader).gll
	case "GST":
		return (*nmeaReader).gst
	case "GSA":
		return (*nmeaReader).gsa
	case "ZDA":
		return (*nmeaReader).zda
	case "WPL":
		return (*nmeaReader).wpl
	}
	return nil
}

// cutSentence returns the sentence at the beginning of b up to its checksum, and what
// stands there: "" when it has none.
func cutSentence(b []byte) (body, check []byte) {
	for i, c := range b {
		switch {
		case c == '*':
			return b[:i], b[i+1 : min(i+3, len(b))]
		case c < ' ' || c == '$':
			return b[:i], nil
		}
	}
	return b, nil
}

// sound verifies the checksum, the exclusive or of all bytes of the sentence.
func (n *nmeaReader) sound(body, check []byte) bool {
	if check == nil {
		if n.summed {
			n.note(NoteBadChecksum, shown(body[:tagBytes])+" without a checksum, where others have one")
		}
		return !n.summed
	}
	sum := byte(0)
	for _, c := range body {
		sum ^= c
	}
	if len(check) == 2 && hexDigit(check[0]) == sum>>4 && hexDigit(check[1]) == sum&15 {
		n.summed = true
		return true
	}
	n.note(NoteBadChecksum, shown(body[:tagBytes])+" with a wrong checksum")
	return false
}

// hexDigit is the value of a hexadecimal digit, 255 of anything else.
func hexDigit(c byte) byte {
	switch {
	case c-'0' <= 9:
		return c - '0'
	case c|0x20 >= 'a' && c|0x20 <= 'f':
		return c | 0x20 - 'a' + 10
	}
	return 255
}

// split cuts the sentence into its fields; those that are not there are empty.
func (n *nmeaReader) split(body []byte) {
	clear(n.f[:])
	for i := range n.f {
		end := bytes.IndexByte(body, ',')
		if end < 0 {
			n.f[i] = body
			return
		}
		n.f[i], body = body[:end], body[end+1:]
	}
}

// note counts what is odd at the line of the sentence.
func (n *nmeaReader) note(k NoteKind, what string) { n.log.noteAt(k, n.src.line(), what) }

// badField counts a value that cannot be read.
func (n *nmeaReader) badField(what string, text []byte, why string) {
	n.log.Notes.Add(NoteBadField, func() string {
		return where(n.log.Name, n.src.line()) + ": " + plain(n.f[0]) + " " + what + " " + quoted(string(text)) + " " + why
	})
}
