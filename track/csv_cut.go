package track

import "bytes"

// recordCutter cuts text into the rows and fields of a table, as RFC 4180 has it, and
// leniently: a line may end in CR, LF or both; a quote that neither opens nor closes a field
// is text, as with LazyQuotes of encoding/csv. Spaces around a field are not part of it.
type recordCutter struct {
	delimiter byte
	plain     int      // so many bytes ahead, quotes are text
	fields    [][]byte // of the last row, good until the next
	unescaped []byte   // what of them had to be put together
}

// rowEnd is how a row ends.
type rowEnd uint8

const (
	lineEnded rowEnd = iota
	lineOpen         // the text ends before the line does
	quoteOpen        // the text ends within quotes
)

// record cuts the first row off text and returns its length, its line end included.
// Time O(length).
func (c *recordCutter) record(text []byte) (n int, end rowEnd) {
	c.fields, c.unescaped = c.fields[:0], c.unescaped[:0]
	for {
		field, length, closed := c.field(text[n:])
		if !closed {
			return n, quoteOpen
		}
		c.fields = append(c.fields, field)
		n += length
		switch {
		case n == len(text):
			return n, lineOpen
		case text[n] != c.delimiter:
			return n + 1, lineEnded
		}
		n++
	}
}

// field cuts off the first field and returns its length, up to the delimiter or line
// end, which it does not include.
func (c *recordCutter) field(text []byte) (field []byte, length int, closed bool) {
	if c.plain == 0 {
		lead := 0
		for lead < len(text) && text[lead] == ' ' {
			lead++
		}
		if lead < len(text) && text[lead] == '"' {
			field, length, closed = c.quotedField(text[lead+1:])
			return field, lead + 1 + length, closed
		}
	}
	for length < len(text) && !c.ends(text[length]) {
		length++
	}
	return bytes.Trim(text[:length], " \t"), length, true
}

func (c *recordCutter) ends(b byte) bool { return b == c.delimiter || b == '\n' || b == '\r' }

// quotedField is field after an opening quote.
func (c *recordCutter) quotedField(text []byte) (field []byte, length int, closed bool) {
	from, start := 0, len(c.unescaped)
	for {
		i := bytes.IndexByte(text[length:], '"')
		if i < 0 {
			return nil, 0, false
		}
		length += i + 1
		after := length // the next byte that is no space
		for after < len(text) && text[after] == ' ' {
			after++
		}
		switch {
		case after == len(text) || c.ends(text[after]):
			if from == 0 {
				return text[:length-1], after, true
			}
			c.unescaped = append(c.unescaped, text[from:length-1]...)
			return c.unescaped[start:len(c.unescaped):len(c.unescaped)], after, true
		case text[length] == '"':
			length++
			c.unescaped = append(c.unescaped, text[from:length-1]...)
			from = length
		}
	}
}
