package report

import (
	"fmt"
	"math"
	"strings"

	"untrod/coverage"
	"untrod/track"
)

// Oddities in plain words. A kind that is not here is given by its name.
var noteWords = map[track.NoteKind]string{
	track.NoteBadPosition:  "fixes without a usable position, left out",
	track.NoteZeroZero:     "fixes at latitude 0, longitude 0, left out",
	track.NoteDuplicate:    "repeated fixes, left out",
	track.NoteJump:         "fixes that jump away and back, left out",
	track.NoteClockBack:    "fixes whose time runs backwards, left out",
	track.NoteMissingTime:  "fixes without a time, left out",
	track.NoteFarAway:      "fixes far from the site, left out",
	track.NoteNoFix:        "fixes the receiver itself did not trust, left out",
	track.NoteTruncated:    "files that end too early; what came before is used",
	track.NoteBadField:     "values that cannot be read; their fixes are used without",
	track.NoteBadXML:       "damaged places; what could be read is used",
	track.NoteOddNamespace: "unknown kinds of GPX, read all the same",
	track.NoteCharset:      "unknown character sets; names may look wrong",
	track.NoteNoTimes:      "tracks without times",
	track.NoteOddDate:      "dates that cannot be",
	track.NoteSilence:      "silences in the log; the ground between is not counted",
	track.NoteClockSet:     "clocks set back on the way",
	track.NoteOutside:      "searched stretches nowhere on the site",
	track.NoteEmpty:        "empty tracks or segments",
	track.NoteBadChecksum:  "damaged sentences, left out",
	track.NoteNoDate:       "fixes with a time of day but no date; their times are not used",
	track.NoteLateDate:     "fixes before the log's first date, dated from it",
	track.NoteColumns:      "tables; which column was taken for what",
	track.NoteBadRow:       "rows that cannot be read, left out",
	track.NoteNoPosition:   "records that give no position, left out",
	track.NoteRepeated:     "fixes given twice in the file, left out",
	track.NotePassedOver:   "files in archives that are no logs, passed over",
}

// oddities groups the notes by kind, over all files.
func (t *texter) oddities() {
	if len(t.r.Notes)+len(t.r.Skipped)+len(t.r.Copies) == 0 {
		return
	}
	t.line("")
	t.line("Odd in the files")
	for _, s := range t.r.Skipped {
		t.para("  ", "not used: %s", Printable(s.Err.Error()))
	}
	t.copies()
	var kinds []track.NoteKind
	total, files := map[track.NoteKind]int{}, map[track.NoteKind]int{}
	example := map[track.NoteKind]string{}
	for _, n := range t.r.Notes {
		if total[n.Kind] == 0 {
			kinds = append(kinds, n.Kind)
			example[n.Kind] = placed(n)
		}
		total[n.Kind] += n.Count
		files[n.Kind]++
	}
	for _, k := range kinds {
		what, ok := noteWords[k]
		if !ok {
			what = string(k)
		}
		where := ""
		if files[k] > 1 {
			where = fmt.Sprintf(" (in %d files)", files[k])
		}
		t.para("  ", "%s: %s%s", what, grouped(float64(total[k]), 0), where)
		t.para("    ", "first: %s", Printable(example[k]))
	}
}

// copiesListed is how many copies are named one by one.
const copiesListed = 8

// copies tells which visits were given twice.
func (t *texter) copies() {
	for i, c := range t.r.Copies {
		if i == copiesListed {
			t.para("  ", "and %d more given twice", len(t.r.Copies)-i)
			return
		}
		t.para("  ", "%s", Printable(copied(c)))
	}
}

func copied(c coverage.Copy) string {
	what := "the same fixes as " + c.Of
	if c.Why == coverage.SameWalk {
		what = "the same walk as " + c.Of + " by another device"
	}
	if math.Abs(c.ClockS) >= 60 {
		what += fmt.Sprintf(", its clock %s %s", duration(math.Abs(c.ClockS)), aheadOrBehind(c.ClockS))
	}
	what += "; counted once"
	if c.Kept > 0 {
		what += fmt.Sprintf(", but for %s fixes of when that was silent", grouped(float64(c.Kept), 0))
	}
	name := c.File
	if !strings.Contains(name, c.Name) {
		name += " (" + c.Name + ")"
	}
	return name + ": " + what
}

func aheadOrBehind(behindS float64) string {
	if behindS < 0 {
		return "ahead"
	}
	return "behind"
}

// placed is a note's example with the file it is in.
func placed(n coverage.FileNote) string {
	if strings.HasPrefix(n.Example, n.File) {
		return n.Example
	}
	return n.File + ": " + n.Example
}
