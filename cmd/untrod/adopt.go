package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"
)

// rivals are flags that say the same thing in two ways: one given on the command
// line puts aside what the book says by the other.
var rivals = []struct{ these, those []string }{
	{[]string{"swath"}, []string{"coil", "swing", "depth", "sweep-time", "coil-shape"}},
	{[]string{"coil", "swing"}, []string{"swath"}},
	{[]string{"canopy"}, []string{"accuracy", "accuracy-as"}},
	{[]string{"accuracy", "accuracy-as"}, []string{"canopy", "accuracy", "accuracy-as"}},
	{[]string{"draws"}, []string{"quick"}},
	{[]string{"quick"}, []string{"draws"}},
	{[]string{"detect"}, []string{"seeded", "found"}},
	{[]string{"seeded", "found"}, []string{"detect"}},
}

// ownFlags are of one run, and never in a book.
var ownFlags = []string{"site", "out", "json", "gis", "column"}

// eachSetting calls f with each flag a book can hold, in the order of the help.
func (o *coverOptions) eachSetting(f func(*pflag.Flag)) {
	for _, g := range o.groups {
		g.flags.VisitAll(func(fl *pflag.Flag) {
			if !slices.Contains(ownFlags, fl.Name) {
				f(fl)
			}
		})
	}
}

// adopt takes what a book says for each flag that was not given. What was given
// goes before the book, and puts aside its rivals.
func (o *coverOptions) adopt(says map[string]string) error {
	aside := map[string]bool{}
	for _, r := range rivals {
		if slices.ContainsFunc(r.these, o.given) {
			for _, name := range r.those {
				aside[name] = true
			}
		}
	}
	if o.given("canopy") && o.position.canopy == "none" {
		aside["laid-out"] = true // nothing is drawn, so nothing rests on it
	}
	var bad error
	o.eachSetting(func(f *pflag.Flag) {
		text, ok := says[f.Name]
		if !ok || f.Changed || aside[f.Name] || bad != nil {
			return
		}
		if o.adopted == nil {
			o.adopted = map[string]bool{}
		}
		o.adopted[f.Name] = true
		bad = takeSetting(f, text)
	})
	return bad
}

// takeSetting gives a flag what a book says; a list has an entry a line.
func takeSetting(f *pflag.Flag, text string) error {
	entries := []string{text}
	if _, list := f.Value.(pflag.SliceValue); list {
		entries = strings.Split(text, "\n")
	}
	for _, e := range entries {
		if err := f.Value.Set(e); err != nil {
			return fmt.Errorf("the book's setting %s %q: %w", f.Name, e, err)
		}
	}
	return nil
}

// given reports whether a flag stands on the command line.
func (o *coverOptions) given(name string) bool {
	for _, g := range o.groups {
		if f := g.flags.Lookup(name); f != nil {
			return f.Changed
		}
	}
	return false
}
