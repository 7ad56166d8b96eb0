package web

import (
	"path/filepath"
	"slices"
	"strings"
	"unicode"
)

const (
	nameRunes = 60  // of a book's name
	nameBytes = 200 // of a file's name
)

// bookName makes a name that every system takes for a file of what a person typed,
// "" when nothing is left of it.
func bookName(typed string) string {
	name := strings.Map(func(r rune) rune {
		if strings.ContainsRune(`<>:"/\|?*`, r) || !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, strings.Join(strings.Fields(typed), " "))
	name = strings.Trim(name, ". ")
	if runes := []rune(name); len(runes) > nameRunes {
		name = strings.TrimRight(string(runes[:nameRunes]), ". ")
	}
	if deviceName(name) {
		name += " book"
	}
	return name
}

// deviceName reports whether Windows takes a name for a device.
func deviceName(name string) bool {
	stem, _, _ := strings.Cut(strings.ToLower(name), ".")
	stem = strings.TrimSpace(stem)
	if slices.Contains([]string{"con", "prn", "aux", "nul"}, stem) {
		return true
	}
	return len(stem) == 4 && (strings.HasPrefix(stem, "com") || strings.HasPrefix(stem, "lpt")) && stem[3] >= '0' && stem[3] <= '9'
}

// fileName makes a plain name of the one a browser gave: the last part of it, of
// printable characters that every system takes, never hidden.
func fileName(given string) string {
	name := given[strings.LastIndexAny(given, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			return -1
		}
		if strings.ContainsRune(`<>:"|?*`, r) {
			return '_'
		}
		return r
	}, name)
	name = strings.TrimRight(strings.TrimLeft(name, ". "), ". ")
	if ext := filepath.Ext(name); len(name) > nameBytes && len(ext) < nameBytes/2 {
		name = strings.ToValidUTF8(name[:nameBytes-len(ext)], "") + ext
	} else if len(name) > nameBytes {
		name = strings.ToValidUTF8(name[:nameBytes], "")
	}
	if name == "" || deviceName(name) {
		name = "file " + name
	}
	return strings.TrimSpace(name)
}
