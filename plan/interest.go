package plan

import (
	"fmt"
	"strings"
	"unicode"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

// Interest makes ground near a landmark worth more: 1 + Weight times as much at the
// landmark, fading evenly to 1 at FadeM metres from it; of several landmarks the
// weights add up. Inside an area is at it. Landmark names one; else Kind means those
// whose kind (whose name, when no kind is given) holds all its words. What names a
// landmark goes before what names a kind, both before the defaults; of equals the last
// counts. A Weight of 0 makes a landmark count for nothing.
type Interest struct {
	Landmark, Kind string
	Weight         float64 // 0 to 100
	FadeM          float64 // above 0, up to 1000; any when Weight is 0
}

// usualInterest is what landmarks count for when nothing is said, by the first of these
// words that their kind or name holds. Common sense, no source: people lose things
// where they stop, sit, stoop and pay.
var usualInterest = []struct {
	words  string
	weight float64
	fadeM  float64
}{
	{"doorway door doorstep threshold", 3, 6},
	{"well pump", 3, 8},
	{"hearth chimney fireplace", 2.5, 6},
	{"foundation footing cellar ruin house cabin cottage building barn chapel", 2.5, 10},
	{"bridge ford crossing", 2, 8},
	{"bench seat", 1.5, 5},
	{"gate stile", 1.5, 6},
	{"spring", 1.5, 8},
	{"tree oak lime beech chestnut", 1.5, 8},
	{"path track lane road", 1, 4},
	{"wall", 1, 4},
	{"trough", 1, 5},
	{"fence hedge", 0.5, 3},
	{"boulder rock stone", 1, 4},
}

// anyInterest is for landmarks of no kind known here: somebody found them worth naming.
// A mark of no kind known counts for nothing, since it may be a peg.
const anyWeight, anyFadeM = 0.5, 5

func (s Settings) validateInterest() error {
	for _, i := range s.Interest {
		bad := func(allowed string) error {
			return &coverage.SettingsError{Flag: "interest", Value: fmt.Sprintf("%q", i.Landmark+i.Kind), Allowed: allowed}
		}
		switch {
		case len(wordsOf(i.Landmark)) == 0 && len(wordsOf(i.Kind)) == 0:
			return bad("the name or the kind of a landmark")
		case !(i.Weight >= 0 && i.Weight <= 100):
			return bad(fmt.Sprintf("given with a weight from 0 to 100, not %g", i.Weight))
		case i.Weight > 0 && !(i.FadeM > 0 && i.FadeM <= 1000):
			return bad(fmt.Sprintf("given with a distance of more than 0 m and at most 1000 m, not %g m", i.FadeM))
		}
	}
	return nil
}

// wordsOf are the words of a text, in lower case, without the s of a plural.
func wordsOf(text string) []string {
	out := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	for i, w := range out {
		if len(w) > 3 && !strings.HasSuffix(w, "ss") {
			out[i] = strings.TrimSuffix(w, "s")
		}
	}
	return out
}

// kindWords tell what a landmark is.
func kindWords(l site.Landmark) []string {
	if w := wordsOf(l.Kind); len(w) > 0 {
		return w
	}
	return wordsOf(l.Name)
}

func holdsAll(words, all []string) bool {
	has := map[string]bool{}
	for _, w := range words {
		has[w] = true
	}
	for _, w := range all {
		if !has[w] {
			return false
		}
	}
	return len(all) > 0
}

// named reports whether i names l.
func (i Interest) named(l site.Landmark) bool {
	return i.Landmark != "" && strings.EqualFold(strings.TrimSpace(i.Landmark), strings.TrimSpace(l.Name))
}

// meant reports whether l is of the kind that i means.
func (i Interest) meant(l site.Landmark) bool {
	return i.Landmark == "" && holdsAll(kindWords(l), wordsOf(i.Kind))
}

// interestIn is what a landmark counts for.
func interestIn(l site.Landmark, given []Interest) (weight, fadeM float64) {
	weight, fadeM = usual(l)
	for _, fits := range []func(Interest) bool{
		func(i Interest) bool { return i.meant(l) },
		func(i Interest) bool { return i.named(l) },
	} {
		for _, i := range given {
			if fits(i) {
				weight, fadeM = i.Weight, i.FadeM
			}
		}
	}
	return weight, fadeM
}

func usual(l site.Landmark) (weight, fadeM float64) {
	words := kindWords(l)
	for _, u := range usualInterest {
		for _, w := range wordsOf(u.words) {
			if holdsAll(words, []string{w}) {
				return u.weight, u.fadeM
			}
		}
	}
	if l.Mark {
		return 0, 0
	}
	return anyWeight, anyFadeM
}

// drawn is a landmark that raises the worth of ground.
type drawn struct {
	site.LocalLandmark
	weight, fadeM float64
	box           grid.Bounds // outside it there is nothing to gain
}

// drawnOf returns the landmarks that count, and a note on each setting that means none.
func drawnOf(landmarks []site.LocalLandmark, given []Interest) (out []drawn, notes []string) {
	for _, l := range landmarks {
		if w, fade := interestIn(l.Landmark, given); w > 0 && len(l.XY) > 0 {
			out = append(out, drawn{l, w, fade, bounds([]grid.Ring{l.XY}).Pad(fade)})
		}
	}
	for _, i := range given {
		found := false
		for _, l := range landmarks {
			found = found || i.named(l.Landmark) || i.meant(l.Landmark)
		}
		if !found && i.Landmark != "" {
			notes = append(notes, fmt.Sprintf("no landmark is called %q: its interest was not used", i.Landmark))
		} else if !found {
			notes = append(notes, fmt.Sprintf("no landmark is of the kind %q: its interest was not used", i.Kind))
		}
	}
	return out, notes
}

// at is what a landmark adds to the worth of ground at q.
func (d *drawn) at(q grid.XY) float64 {
	if !inBox(d.box, q) {
		return 0
	}
	m := 0.0
	if d.Shape != site.AreaShape || !holds([]grid.Ring{d.XY}, q) {
		m = between(q, nearestPoint(d.LocalLandmark, q))
	}
	return d.weight * max(0, 1-m/d.fadeM)
}
