package coverage

import (
	"fmt"
	"slices"
	"strings"

	"untrod/site"
	"untrod/track"
)

// VisitName is what a visit is told by.
type VisitName struct{ Name, File string }

// LeftOut tells which visits are left out by words as in Settings.Without, and which
// of the words mean no visit. A word means every visit of that name or of that file,
// whatever the case of its letters; of the file the last part of the path will do.
// Where visits share a name, their names are those with the file added, as a
// result gives them: the shared name alone means none of them. O(visits x words).
func LeftOut(visits []VisitName, without []string) (left []bool, unknown []string) {
	left = make([]bool, len(visits))
	names := namesApart(visits)
	for _, word := range without {
		known := false
		for i, v := range visits {
			if means(word, names[i], v.File) {
				left[i], known = true, true
			}
		}
		if !known {
			unknown = append(unknown, word)
		}
	}
	return left, unknown
}

// means reports whether a word means the visit of that name and file. A file may be
// given with more folders than it is named by: as its path on the disk.
func means(word, name, file string) bool {
	slashed := strings.ToLower("/" + strings.ReplaceAll(strings.TrimSpace(word), `\`, "/"))
	return slashed != "/" && ((site.LaidOut{Session: word}).Of(name, file) ||
		file != "" && strings.HasSuffix(slashed, strings.ToLower("/"+strings.ReplaceAll(file, `\`, "/"))))
}

// namesApart adds the file to the names that several visits share: many programs
// call every recording the same.
func namesApart(visits []VisitName) []string {
	count := map[string]int{}
	for _, v := range visits {
		count[v.Name]++
	}
	out := make([]string, len(visits))
	for i, v := range visits {
		if out[i] = v.Name; count[v.Name] > 1 {
			out[i] += ", " + baseName(v.File)
		}
	}
	return out
}

func namesOf(visits []*visit) []VisitName {
	out := make([]VisitName, len(visits))
	for i, v := range visits {
		out[i] = VisitName{v.name, v.file}
	}
	return out
}

// nameApart gives visits that share a name others, whether they count or are left
// out: a visit must not change its name because another is left out.
func nameApart(counted, left []visit) {
	var all []*visit
	for _, vs := range [][]visit{counted, left} {
		for i := range vs {
			all = append(all, &vs[i])
		}
	}
	for i, name := range namesApart(namesOf(all)) {
		all[i].name = name
	}
}

// visitsNamed is how many visits an error names.
const visitsNamed = 20

// leaveOut parts the visits that count from those that Settings.Without leaves out.
// It returns a *SettingsError for a word that means no visit, and when none is left.
func (r *Result) leaveOut(visits []visit) (counted, left []visit, err error) {
	words := r.Settings.Without
	if len(words) == 0 {
		return visits, nil, nil
	}
	all := make([]*visit, len(visits))
	for i := range visits {
		all[i] = &visits[i]
	}
	out, unknown := LeftOut(namesOf(all), words)
	if len(unknown) > 0 {
		return nil, nil, &SettingsError{"without", fmt.Sprintf("%q", unknown[0]), "a visit there is, by name or file: " + listed(namesApart(namesOf(all)))}
	}
	for i, v := range visits {
		if out[i] {
			left = append(left, v)
		} else {
			counted = append(counted, v)
		}
	}
	if len(counted) == 0 {
		return nil, nil, &SettingsError{"without", fmt.Sprintf("%q", words[len(words)-1]), "fewer than all the visits there are"}
	}
	return counted, left, nil
}

// listed are names in quotes, in order, the first of them.
func listed(names []string) string {
	names = slices.Clone(names)
	slices.Sort(names)
	names = slices.Compact(names)
	more := len(names) - visitsNamed
	for i := range names {
		names[i] = fmt.Sprintf("%q", names[i])
	}
	if more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:visitsNamed], ", "), more)
	}
	return strings.Join(names, ", ")
}

// tellLeftOut lists the visits that are left out, and takes words that mean them
// alone out of the laid-out ones: there is nothing to confirm.
func (r *Result) tellLeftOut(counted, left []visit) {
	for _, v := range left {
		r.LeftOut = append(r.LeftOut, Session{
			Name: v.name, File: v.file, SHA256: v.sha256, Walker: v.walker, Fixes: v.walk.Fixes, Start: v.start, End: v.end,
		})
	}
	meansOne := func(word string, visits []visit) bool {
		return slices.ContainsFunc(visits, func(v visit) bool { return means(word, v.name, v.file) })
	}
	if len(left) > 0 {
		r.Settings.LaidOut = slices.DeleteFunc(slices.Clone(r.Settings.LaidOut), func(word string) bool {
			return meansOne(word, left) && !meansOne(word, counted)
		})
	}
}

// countedFinds are finds without those made in the visits left out: their walk is no
// effort, so they are no yield. What was found while a visit that counts went on too
// stays, and so does what has no time.
func (r *Result) countedFinds(finds []site.Find) []site.Find {
	if len(r.LeftOut) == 0 {
		return finds
	}
	var out []site.Find
	for _, f := range finds {
		if belongs(r.LeftOut, f.T) > belongs(r.Sessions, f.T) {
			r.LeftOutFinds++
			continue
		}
		out = append(out, f)
	}
	return out
}

// belongs is 2 when a visit went on at that moment, 1 when one had just ended or
// was about to begin, else 0.
func belongs(visits []Session, t track.Instant) (best int) {
	for _, s := range visits {
		switch {
		case !t.Known() || !s.Start.Known() || t < s.Start-visitSlackMS || t > s.End+visitSlackMS:
		case t >= s.Start && t <= s.End:
			return 2
		default:
			best = 1
		}
	}
	return best
}
