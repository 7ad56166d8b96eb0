package track

import (
	"bytes"
	"fmt"
	"io"

	"github.com/orisano/gosax"
)

const (
	// maxToken is the largest tag, text or comment that is read, and the most
	// text that one element may hold. It bounds memory on hostile files.
	maxToken = 16 << 20
	// maxOpen bounds the names of all open elements together, and so the depth.
	maxOpen = 64 << 10
)

// damage is the error for content that is broken, as against a reader that fails.
type damage string

func (d damage) Error() string { return string(d) }

type tokenKind uint8

const (
	tokenEnd   tokenKind = iota // of an element
	tokenStart                  // of an element: local and attrs are set
	tokenText                   // text and verbatim are set
	tokenDone                   // the document is complete
)

// scanner cuts UTF-8 XML into tokens and checks that tags pair up. Comments,
// processing instructions and document types are passed over; entities that
// a document type defines are never expanded. It does not check that names,
// characters and attributes are well formed.
type scanner struct {
	src   chunks
	sax   *gosax.Reader
	names []byte // of the open elements, one after another
	ends  []int  // where each of them ends
	// selfClosed is set between the start and the end of an empty-element tag.
	selfClosed bool

	name, local []byte // of the last start tag, with and without prefix
	attrs       []byte // not yet read
	text        []byte
	verbatim    bool // text is from a CDATA section
	unescaped   []byte
}

func newScanner(r io.Reader) *scanner {
	x := &scanner{src: chunks{r: r, buf: make([]byte, chunkBytes)}}
	x.sax = gosax.NewReaderSize(&x.src, 4*chunkBytes)
	return x
}

// next reads one token; its slices are good until the next call. The error is
// io.ErrUnexpectedEOF when the document is cut short, a damage, or the source's.
func (x *scanner) next() (tokenKind, error) {
	if x.selfClosed {
		x.selfClosed = false
		x.pop()
		return tokenEnd, nil
	}
	for {
		ev, err := x.sax.Event()
		if err != nil {
			return 0, x.fault(err)
		}
		x.src.used += int64(len(ev.Bytes))
		switch ev.Type() {
		case gosax.EventStart:
			return tokenStart, x.start(ev.Bytes)
		case gosax.EventEnd:
			return tokenEnd, x.end(ev.Bytes)
		case gosax.EventText:
			x.text, x.verbatim = ev.Bytes, false
			return tokenText, nil
		case gosax.EventCData:
			return tokenText, x.cdata(ev.Bytes)
		case gosax.EventEOF:
			if len(x.ends) > 0 {
				return 0, io.ErrUnexpectedEOF
			}
			return tokenDone, nil
		}
	}
}

func (x *scanner) fault(err error) error {
	switch {
	case err == io.EOF:
		return io.ErrUnexpectedEOF
	case x.src.err != nil && x.src.err != io.EOF:
		return x.src.err
	}
	return damage("malformed <! markup")
}

func (x *scanner) start(tag []byte) error {
	n, colon := 1, 0
	for c := tag[n]; !endsName[c]; c = tag[n] { // stops at the final >
		if c == ':' {
			colon = n
		}
		n++
	}
	if n == 1 {
		return damage("a tag without a name")
	}
	if len(x.names)+n > maxOpen {
		return damage("elements nested too deep")
	}
	x.name, x.local = tag[1:n], tag[colon+1:n]
	x.names = append(x.names, x.name...)
	x.ends = append(x.ends, len(x.names))
	x.attrs = tag[n : len(tag)-1]
	if x.selfClosed = tag[len(tag)-2] == '/'; x.selfClosed {
		x.attrs = tag[n : len(tag)-2]
	}
	return nil
}

var endsName = [256]bool{' ': true, '\t': true, '\r': true, '\n': true, '/': true, '>': true}

func (x *scanner) end(tag []byte) error {
	if len(x.ends) == 0 {
		return damage(shown(tag) + " without a start")
	}
	name, open := tag[2:len(tag)-1], x.openName()
	if !bytes.Equal(name, open) && !bytes.Equal(bytes.TrimRight(name, " \t\r\n"), open) {
		return damage(fmt.Sprintf("<%s> closed by </%s>", shown(open), shown(name)))
	}
	x.pop()
	return nil
}

// openName is the name of the innermost open element; there must be one.
func (x *scanner) openName() []byte {
	from := 0
	if n := len(x.ends); n > 1 {
		from = x.ends[n-2]
	}
	return x.names[from:]
}

func (x *scanner) pop() {
	x.names = x.names[:len(x.names)-len(x.openName())]
	x.ends = x.ends[:len(x.ends)-1]
}

func (x *scanner) cdata(section []byte) error {
	body, ok := bytes.CutPrefix(section, []byte("<![CDATA["))
	if !ok {
		return damage("malformed <! markup")
	}
	x.text, x.verbatim = bytes.TrimSuffix(body, []byte("]]>")), true
	return nil
}

// attribute reads the next attribute of the last start tag; an empty key after
// the last one. The value is good until the next call.
func (x *scanner) attribute() (key, value []byte, err error) {
	a, rest, err := gosax.NextAttribute(x.attrs)
	x.attrs = rest
	if err != nil || len(a.Value) == 0 {
		return a.Key, nil, err
	}
	if len(a.Value) == 1 {
		return a.Key, nil, damage("an attribute without its closing quote")
	}
	value = a.Value[1 : len(a.Value)-1]
	if bytes.IndexByte(value, '&') >= 0 {
		x.unescaped = append(x.unescaped[:0], value...)
		value = unescape(x.unescaped)
	}
	return a.Key, value, nil
}

// line is the line on which the last token ends, counted from 1.
func (x *scanner) line() int { return x.src.line() }
