package site

import (
	"slices"
	"strings"
	"unicode"

	"untrod/track"
)

// Role is what a waypoint of an imported file stands for.
type Role string

// Roles of a place.
const (
	RoleLandmark Role = "landmark" // a named place of the site
	RoleMark     Role = "mark"     // one known well enough to check a receiver against
	RoleFind     Role = "find"     // something was dug there
	RoleNone     Role = "none"     // nothing new: a known place visited again, or left out by the user
)

// roleWords are the words by which a waypoint says itself what it is.
var roleWords = map[string]Role{
	"mark": RoleMark, "benchmark": RoleMark, "control": RoleMark,
	"find": RoleFind, "finds": RoleFind, "found": RoleFind, "target": RoleFind,
	"dig": RoleFind, "dug": RoleFind, "hole": RoleFind,
	"landmark": RoleLandmark,
}

// RoleOf returns what a waypoint of an imported file becomes. The first of these
// that holds decides; the case of letters never matters:
//
//  1. A word of its type, or else of its symbol, is find, finds, found, target,
//     dig, dug or hole: a find.
//  2. Its name is that of a landmark or mark of s, which is then visited again
//     (see track.FindTies): none.
//  3. A word of its type, or else of its symbol, or else the first word of its
//     name is mark, benchmark or control: a mark; one of the words of 1: a find;
//     landmark: a landmark. A word ends at the first thing that is not a letter
//     or an apostrophe: "find3" is a find and "Mark's oak" no mark.
//  4. It was saved by a walker who stood still during a visit: a find.
//  5. A landmark.
//
// Common practice, no source. s may be nil.
func RoleOf(w track.Waypoint, s *Site, stood bool) Role {
	said := says(w)
	switch {
	case said == RoleFind:
		return RoleFind
	case s.knows(w.Name):
		return RoleNone
	case said != "":
		return said
	}
	if named := words(w.Name); len(named) > 0 && roleWords[named[0]] != "" {
		return roleWords[named[0]]
	}
	if stood {
		return RoleFind
	}
	return RoleLandmark
}

// says is the role that a waypoint's type, or else its symbol, names; "" for none.
func says(w track.Waypoint) Role {
	for _, text := range []string{w.Type, w.Sym} {
		for _, word := range words(text) {
			if r := roleWords[word]; r != "" {
				return r
			}
		}
	}
	return ""
}

func (s *Site) knows(name string) bool {
	name = strings.TrimSpace(name)
	return s != nil && name != "" && slices.ContainsFunc(s.Landmarks, func(l Landmark) bool {
		return strings.EqualFold(strings.TrimSpace(l.Name), name)
	})
}

func words(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool {
		return !unicode.IsLetter(r) && r != '\'' && r != '’'
	})
}
