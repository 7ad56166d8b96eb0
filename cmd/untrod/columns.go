package main

import (
	"strings"

	"github.com/spf13/pflag"

	"untrod/track"
)

// columnsFlag collects what the columns of CSV files hold.
type columnsFlag []string

func (c *columnsFlag) addTo(f *pflag.FlagSet) {
	f.StringArrayVar((*[]string)(c), "column", nil, "of CSV files: `MEANING=NAME`, such as lat=Breite, by the column's head or number; may be repeated")
}

// columns is nil when nothing was said.
func (c columnsFlag) columns() (track.Columns, error) {
	if len(c) == 0 {
		return nil, nil
	}
	out := track.Columns{}
	for _, pair := range c {
		meaning, name, ok := strings.Cut(pair, "=")
		if !ok || meaning == "" || name == "" {
			return nil, hint(usagef("--column %q: not MEANING=NAME", pair), "such as --column lat=Breite --column lon=3 --column time=none")
		}
		out[strings.TrimSpace(meaning)] = strings.TrimSpace(name)
	}
	return out, nil
}
