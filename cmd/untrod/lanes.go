package main

import (
	"slices"
	"strings"

	"github.com/spf13/pflag"

	"untrod/coverage"
)

// lanesCommand is the command line as given, with the lanes found in the logs
// declared as laid out.
func (o *coverOptions) lanesCommand(found []coverage.LaneProposal, logs []string) string {
	words := []string{self(), "cover"}
	for _, g := range o.groups {
		g.flags.VisitAll(func(f *pflag.Flag) {
			switch v := f.Value.String(); {
			case v == f.DefValue || f.Name == "laid-out":
			case f.Value.Type() == "bool":
				words = append(words, "--"+f.Name)
			default:
				words = append(words, "--"+f.Name, quoted(v))
			}
		})
	}
	visits := slices.Clone(o.laidOut)
	for _, p := range found {
		if !slices.Contains(visits, p.Session) {
			visits = append(visits, p.Session)
		}
	}
	for _, v := range visits {
		words = append(words, "--laid-out", quoted(v))
	}
	for _, log := range logs {
		words = append(words, quoted(log))
	}
	return strings.Join(words, " ")
}

// quoted is a word as a shell takes it.
func quoted(word string) string {
	if word != "" && !strings.ContainsAny(word, " \t*?[]{}()<>|&;$'`\\~#!") {
		return word
	}
	return `"` + word + `"`
}
