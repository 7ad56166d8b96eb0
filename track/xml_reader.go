package track

import (
	"bufio"
	"bytes"
	"errors"
	"io"
)

// xmlReader is what the readers of formats in XML have in common.
type xmlReader struct {
	fieldReader
	x    *scanner
	root string    // the local name of the outermost element
	open []element // the open elements, outermost first; that stays after its end
	text []byte    // of the open field
	cut  bool      // reading stopped before the end
}

// xmlFormat is what they do not: called for each element of a file, the outermost
// one included in start but not in end.
type xmlFormat interface {
	start() element // the meaning of the element that starts, under the open ones
	end(element)
}

// openXML looks at the beginning of a file.
func (r *xmlReader) openXML(in io.Reader, log *Log, root string) error {
	b := bufio.NewReader(in)
	r.log, r.root = log, root
	head, err := b.Peek(headBytes)
	if len(head) == 0 {
		if err == io.EOF {
			err = errors.New("empty file")
		}
		return &ParseError{Name: log.Name, Err: err}
	}
	if found := looksLike(head); found != "" {
		return r.unsupported(found)
	}
	text, unknown := decoded(b)
	r.x = newScanner(text)
	r.line = r.x.line
	if unknown != "" {
		r.note(NoteCharset, "unknown character set "+quoted(unknown)+", read as UTF-8")
	}
	return nil
}

func (r *xmlReader) unsupported(found string) error {
	return &UnsupportedError{Name: r.log.Name, Found: found, Format: r.log.Format}
}

func (r *xmlReader) run(f xmlFormat) error {
	for {
		kind, err := r.x.next()
		if err == nil {
			switch kind {
			case tokenStart:
				err = r.enter(f)
			case tokenText:
				err = r.characters()
			case tokenEnd:
				r.leave(f)
			case tokenDone:
				err = io.EOF
			}
		}
		if err != nil {
			return r.stop(f, err)
		}
	}
}

// stop turns what ended the reading into a note or, if nothing can be kept, an
// error.
func (r *xmlReader) stop(f xmlFormat, err error) error {
	var unsupported *UnsupportedError
	var broken damage
	cut := err == io.EOF || err == io.ErrUnexpectedEOF
	switch started := len(r.open) > 0; {
	case errors.As(err, &unsupported):
		return err
	case !started && cut:
		return &ParseError{Name: r.log.Name, Line: r.x.line(), Err: errors.New("no complete <" + r.root + "> tag")}
	case started && err == io.EOF:
		return nil
	case started && cut:
		r.note(NoteTruncated, "file ends too early, read up to here")
	case started && errors.As(err, &broken):
		r.note(NoteBadXML, err.Error()+", read up to here")
	default:
		return &ParseError{Name: r.log.Name, Line: r.x.line(), Err: err}
	}
	r.cut = true
	r.finish(f)
	return nil
}

// finish ends what was open when reading stopped, but for points and fields, which
// are not complete. A list of coordinates may be all of a file.
func (r *xmlReader) finish(f xmlFormat) {
	for len(r.open) > 1 {
		el := r.top()
		r.open = r.open[:len(r.open)-1]
		if el == elCoordinates {
			r.text = withoutLastTuple(r.text)
		} else if el.isField() || el.isPoint() {
			continue
		}
		f.end(el)
	}
}

const xmlBlanks = " \t\r\n"

func (r *xmlReader) top() element { return r.open[len(r.open)-1] }

func (r *xmlReader) enter(f xmlFormat) error {
	switch {
	case len(r.open) == 0 && string(r.x.local) != r.root:
		return r.unsupported(rootLooks(shown(r.x.name)))
	case len(r.open) > 0 && len(r.x.ends) == 1:
		return damage("content after </" + r.root + ">")
	}
	el := f.start()
	r.open = append(r.open, el)
	if el.isField() {
		r.text = r.text[:0]
	}
	return nil
}

func (r *xmlReader) characters() error {
	switch {
	case len(r.open) == 0:
		return nil // between the document type and the root
	case r.top().isField():
		return r.addText()
	case len(r.x.ends) == 0 && len(bytes.TrimSpace(r.x.text)) > 0:
		return damage("content after </" + r.root + ">")
	}
	return nil
}

func (r *xmlReader) addText() error {
	had := len(r.text)
	if had+len(r.x.text) > maxToken {
		return damage("an element with too much text")
	}
	r.text = append(r.text, r.x.text...)
	if !r.x.verbatim {
		r.text = r.text[:had+len(unescape(r.text[had:]))]
	}
	return nil
}

func (r *xmlReader) leave(f xmlFormat) {
	if len(r.open) == 1 {
		return // of the root
	}
	el := r.top()
	r.open = r.open[:len(r.open)-1]
	f.end(el)
	if el.isField() {
		r.text = r.text[:0]
	}
}
