package track

import (
	"bytes"
	"io"
)

// looseJSON makes JSON of what is near to it: words such as NaN, which programs write
// in place of numbers, become an empty text, and the separators of RFC 8142 blanks.
// Lengths stay the same.
type looseJSON struct {
	r       io.Reader
	quoted  bool   // within a text
	escaped bool   // after its backslash
	last    byte   // handed on
	word    []byte // begun, not yet handed on
	blanks  int    // handed on since anything else
}

// maxBlanks is the longest run of blanks that is read: the decoder looks at those
// before a token again with each piece of the file.
const maxBlanks = 1 << 20

// longestWord is that of -Infinity, or undefined.
const longestWord = 9

// Read needs room for a word and one byte more.
func (l *looseJSON) Read(p []byte) (int, error) {
	n := copy(p, l.word)
	l.word = l.word[:0]
	more, err := l.r.Read(p[n:])
	n += more
	done := l.loosen(p[:n], err != nil)
	if done > 0 {
		l.last = p[done-1]
	}
	l.word = append(l.word, p[done:n]...)
	if l.blanks > maxBlanks {
		return 0, damage("over 1 MB of blanks")
	}
	return done, err
}

// loosen works in place on b, up to a word that may go on after it.
func (l *looseJSON) loosen(b []byte, atEnd bool) (done int) {
	for i := 0; i < len(b); i++ {
		c := b[i]
		if c == 0x1e && !l.quoted {
			b[i], c = ' ', ' '
		}
		if isBlank(c) && !l.quoted {
			l.blanks++
			continue
		}
		l.blanks = 0
		switch {
		case l.quoted:
			i += l.skipText(b[i:]) - 1
		case c == '"':
			l.quoted = true
		case c == '-' || isLetter(c):
			end := i + 1
			for end < len(b) && isLetter(b[end]) {
				end++
			}
			if end == len(b) && !atEnd && end-i <= longestWord {
				return i
			}
			before := l.last
			if i > 0 {
				before = b[i-1]
			}
			if c == '-' || !isLetter(before) && before-'0' > 9 && before != '.' {
				replaceWord(b[i:end])
			}
			i = end - 1
		}
	}
	return len(b)
}

// skipText returns how much of b belongs to the text that it begins in.
func (l *looseJSON) skipText(b []byte) int {
	for i, c := range b {
		switch {
		case l.escaped:
			l.escaped = false
		case c == '\\':
			l.escaped = true
		case c == '"':
			l.quoted = false
			return i + 1
		}
	}
	return len(b)
}

func isLetter(c byte) bool { return c|0x20-'a' < 26 }

// replaceWord puts an empty text in the place of a word that is not of JSON.
func replaceWord(word []byte) {
	switch string(word) {
	case "true", "false", "null":
		return
	}
	if len(word) < len("NaN") || len(word) > longestWord {
		return
	}
	copy(word, `""`)
	copy(word[2:], bytes.Repeat([]byte(" "), len(word)-2))
}
