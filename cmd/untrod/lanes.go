package main

import (
	"slices"
	"strings"
	"unicode"

	"github.com/spf13/pflag"

	"untrod/coverage"
)

// lanesCommand declares the lanes found in the logs as laid out: in the book, or
// by the command line as given with that added.
func (o *coverOptions) lanesCommand(found []coverage.LaneProposal, bookPath string, logs []string) string {
	visits := slices.Clone(o.laidOut)
	for _, p := range found {
		if !slices.Contains(visits, p.Session) {
			visits = append(visits, p.Session)
		}
	}
	if bookPath != "" {
		words := []string{self(), "set", quoted(bookPath)}
		for _, v := range visits {
			words = append(words, "laid-out", quoted(v))
		}
		return strings.Join(words, " ")
	}
	words := []string{self(), "cover"}
	for _, g := range o.groups {
		g.flags.VisitAll(func(f *pflag.Flag) {
			switch v := f.Value.String(); {
			case v == f.DefValue || f.Name == "laid-out" || f.Name == "without":
			case f.Value.Type() == "bool":
				words = append(words, "--"+f.Name)
			default:
				words = append(words, "--"+f.Name, quoted(v))
			}
		})
	}
	for _, v := range o.without {
		words = append(words, "--without", quoted(v))
	}
	for _, v := range visits {
		words = append(words, "--laid-out", quoted(v))
	}
	for _, log := range logs {
		words = append(words, quoted(log))
	}
	return strings.Join(words, " ")
}

// quoted is a word as a shell takes it: between single quotes nothing is special
// but the quote itself. Names come from files that strangers may have written, and
// the line is there to be pasted.
func quoted(word string) string {
	plain := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("_-./:,%+=@", r)
	}
	if word != "" && strings.IndexFunc(word, func(r rune) bool { return !plain(r) }) < 0 {
		return word
	}
	word = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) {
			return -1
		}
		return r
	}, word)
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}
