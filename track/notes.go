package track

import "sort"

// NoteKind names one kind of odd thing found in a log. The text is also what
// the JSON output gives, so it never changes its meaning.
type NoteKind string

// Kinds that take a fix out: each such fix is counted under exactly one.
const (
	NoteBadPosition NoteKind = "bad-position" // missing, NaN or off the globe
	NoteZeroZero    NoteKind = "zero-zero"    // latitude 0, longitude 0: no position yet
	NoteDuplicate   NoteKind = "duplicate"    // same place and time as the fix before
	NoteJump        NoteKind = "jump"         // away and back faster than anybody walks
	NoteClockBack   NoteKind = "clock-back"   // time runs backwards
	NoteMissingTime NoteKind = "missing-time" // no time amid fixes that have one
	NoteFarAway     NoteKind = "far-away"     // over 25 km from the site
	NoteNoFix       NoteKind = "no-fix"       // the receiver itself says it had none
)

// Kinds that keep the fix, or are about the whole file.
const (
	NoteTruncated    NoteKind = "truncated"     // the file ends in mid-air; what came before is kept
	NoteBadField     NoteKind = "bad-field"     // one value unreadable; the fix is kept without it
	NoteBadXML       NoteKind = "bad-xml"       // the file is damaged from here on
	NoteOddNamespace NoteKind = "odd-namespace" // not a namespace of GPX 1.0 or 1.1
	NoteCharset      NoteKind = "charset"       // an unknown character set; read byte by byte
	NoteNoTimes      NoteKind = "no-times"      // a whole track without times
	NoteOddDate      NoteKind = "odd-date"      // a date that cannot be: receiver week rollover
	NoteSilence      NoteKind = "silence"       // a break in the log, not bridged
	NoteClockSet     NoteKind = "clock-set"     // the clock was set back and ran on; the path is parted
	NoteOutside      NoteKind = "outside"       // searched, but nowhere on the site
	NoteEmpty        NoteKind = "empty"         // a track or segment with nothing in it
)

// Drops reports whether fixes counted under k were taken out of the walk.
func (k NoteKind) Drops() bool {
	switch k {
	case NoteBadPosition, NoteZeroZero, NoteDuplicate, NoteJump, NoteClockBack,
		NoteMissingTime, NoteFarAway, NoteNoFix:
		return true
	}
	return false
}

// Note counts one kind of odd thing and shows its first case.
type Note struct {
	Kind    NoteKind
	Count   int
	Example string // place first, as in "walk.gpx:412: latitude 96.2 outside [-90, 90]"
}

// Notes counts odd things by kind. The zero value is ready to use.
type Notes struct{ byKind map[NoteKind]*Note }

// Add counts one more of kind k; example is only called for the first.
func (n *Notes) Add(k NoteKind, example func() string) {
	if n.byKind == nil {
		n.byKind = map[NoteKind]*Note{}
	}
	if e := n.byKind[k]; e != nil {
		e.Count++
		return
	}
	n.byKind[k] = &Note{Kind: k, Count: 1, Example: example()}
}

// Merge adds every count of o; an example n already has is kept.
func (n *Notes) Merge(o Notes) {
	for _, e := range o.List() {
		if n.byKind == nil {
			n.byKind = map[NoteKind]*Note{}
		}
		if have := n.byKind[e.Kind]; have != nil {
			have.Count += e.Count
		} else {
			n.byKind[e.Kind] = &e
		}
	}
}

// Count is the number counted under k.
func (n Notes) Count(k NoteKind) int {
	if e := n.byKind[k]; e != nil {
		return e.Count
	}
	return 0
}

// Dropped is the number of fixes taken out, over all kinds.
func (n Notes) Dropped() int {
	sum := 0
	for k, e := range n.byKind {
		if k.Drops() {
			sum += e.Count
		}
	}
	return sum
}

// List returns the notes ordered by kind.
func (n Notes) List() []Note {
	out := make([]Note, 0, len(n.byKind))
	for _, e := range n.byKind {
		out = append(out, *e)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Kind < out[j].Kind })
	return out
}
