package track

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"

	"github.com/muktihari/fit/decoder"
	"github.com/muktihari/fit/kit/hash"
	"github.com/muktihari/fit/kit/hash/crc16"
)

// NoteNoPosition counts records, sentences and rows that should give a position
// and do not: there is no fix to take out.
const NoteNoPosition NoteKind = "no-position"

// ReadFIT reads a file of the FIT protocol in one pass: the record messages as
// fixes, course points and stored locations as waypoints. name stands in
// messages, with the number of the FIT message where a text file has its line.
//
// Of a record it takes position, timestamp, altitude (the enhanced one where both
// are given) and gps_accuracy in metres. A position of n semicircles is
// n * 180 / 2^31 degrees, in which nothing is rounded, so n can be had back.
// Timestamps count seconds from 1989-12-31 UTC; one below 2^28 counts from the
// device's start, which gives no time. Records without a position are counted
// and left out.
//
// Timer events and the start of a session part segments. Each of the files
// chained in one is a track; one that says it is a course is a route. What is
// recorded at a higher rate beside the records is not read.
//
// A wrong checksum is a note. Where a file is cut short, was never finished or no
// longer makes sense, what came before is kept with a note, and reading goes on
// at the next of the chained files.
//
// It fails with a *[ParseError] when the file is empty, its header is cut short
// or r fails, and with an *[UnsupportedError] when it is no FIT file. Time and
// memory are linear in the records, with no allocation for a single one.
//
// Source: FIT protocol and global profile, as kept by the library.
func ReadFIT(r io.Reader, name string) (*Log, error) {
	f := &fitReader{
		in: bufio.NewReaderSize(r, chunkBytes), raw: decoder.NewRaw(),
		crcs: [2]hash.Hash16{crc16.New(), crc16.New()},
		log:  &Log{Name: name, Format: "FIT"},
	}
	for {
		more, err := f.part()
		if err != nil {
			return nil, err
		}
		if !more {
			return f.log, nil
		}
	}
}

// fitReader holds what has been read of the file.
type fitReader struct {
	in       *bufio.Reader
	raw      *decoder.RawDecoder
	log      *Log
	messages int // read so far

	// Of the chained file being read:
	begun  bool
	crcs   [2]hash.Hash16    // with and without the header: writers differ
	defs   [16]fitDefinition // by local number
	clock  uint32            // the last timestamp, to which compressed ones add
	fixes  fixList           // of the open segment
	line   Track             // its closed segments
	starts []Instant         // of sessions
	course bool
}

const (
	fitHeader    = 12 // bytes, without the checksum that may follow
	fitHeaderCRC = 14
)

func isFIT(head []byte) bool {
	return len(head) >= fitHeader && (head[0] == fitHeader || head[0] == fitHeaderCRC) && string(head[8:12]) == ".FIT"
}

// part reads the next of the files chained in one; false after the last.
func (f *fitReader) part() (more bool, err error) {
	head, err := f.in.Peek(fitHeaderCRC)
	switch {
	case err != nil && err != io.EOF && err != io.ErrUnexpectedEOF:
		return false, f.fail(err)
	case len(head) == 0 && f.begun:
		return false, nil
	case len(head) == 0:
		return false, f.fail(errors.New("empty file"))
	case isFIT(head) && len(head) >= int(head[0]):
		return true, f.chained(bytes.Clone(head[:head[0]]))
	case f.begun:
		f.note(NoteBadField, "content after the end that is no FIT file, passed over")
		return false, nil
	case len(head) < fitHeaderCRC && head[0] <= fitHeaderCRC:
		return false, f.fail(errors.New("no complete FIT header"))
	}
	return false, &UnsupportedError{Name: f.log.Name, Found: appearance(head), Format: "FIT"}
}

func (f *fitReader) fail(err error) error { return &ParseError{Name: f.log.Name, Err: err} }

// chained reads one file, whose header was peeked at.
func (f *fitReader) chained(head []byte) error {
	_, _ = f.in.Discard(len(head)) // was peeked
	f.begin(head)
	size := binary.LittleEndian.Uint32(head[4:8])
	body := &io.LimitedReader{R: striving{f.in}, N: int64(size) + 2}
	if size == 0 { // it is filled in when the recording is saved
		f.note(NoteTruncated, "the recording was never finished, read as far as it goes")
		binary.LittleEndian.PutUint32(head[4:8], math.MaxUint32)
		body.N = math.MaxUint32
	}
	_, err := f.raw.Decode(io.MultiReader(bytes.NewReader(head), body), f.take)
	if _, readErr := io.Copy(io.Discard, body); err == nil {
		err = readErr
	}
	f.finish()
	if err == nil || size == 0 && isEnd(err) {
		return nil
	}
	return f.stop(err)
}

// begin forgets the file before and looks at the header's own checksum.
func (f *fitReader) begin(head []byte) {
	f.begun, f.clock, f.line, f.course = true, 0, Track{}, false
	f.starts = f.starts[:0]
	for _, crc := range f.crcs {
		crc.Reset()
	}
	_, _ = f.crcs[0].Write(head[:fitHeader]) // never fails
	if len(head) < fitHeaderCRC {
		return
	}
	said := binary.LittleEndian.Uint16(head[fitHeader:])
	if said != 0 && said != f.crcs[0].Sum16() {
		f.note(NoteBadField, "the header's checksum is wrong")
	}
	_, _ = f.crcs[0].Write(head[fitHeader:])
}

// striving gives up on a reader that gives nothing and no error for ever.
type striving struct{ r io.Reader }

func (s striving) Read(p []byte) (n int, err error) {
	for range 100 {
		if n, err = s.r.Read(p); n > 0 || err != nil {
			return n, err
		}
	}
	return 0, io.ErrNoProgress
}

func isEnd(err error) bool { return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) }

// stop turns what ended the reading of a chained file into a note, or an error
// when it is not the file's fault.
func (f *fitReader) stop(err error) error {
	var broken damage
	_, more := f.in.Peek(1)
	switch {
	case isEnd(err) && more != nil:
		f.note(NoteTruncated, "file ends too early, read up to here")
	case isEnd(err):
		f.note(NoteBadField, "a message runs past the end of its file, read up to here")
	case errors.As(err, &broken):
		f.note(NoteBadField, broken.Error()+", read up to here")
	case errors.Is(err, decoder.ErrMesgDefMissing):
		f.note(NoteBadField, "a message that was not defined, read up to here")
	default:
		return f.fail(err)
	}
	return nil
}

// take gets the file piece by piece.
func (f *fitReader) take(what decoder.RawFlag, b []byte) error {
	switch what {
	case decoder.RawFlagMesgDef:
		f.messages++
		f.define(b)
	case decoder.RawFlagMesgData:
		f.messages++
		f.message(b)
	case decoder.RawFlagCRC:
		said := binary.LittleEndian.Uint16(b)
		if said != f.crcs[0].Sum16() && said != f.crcs[1].Sum16() {
			f.note(NoteBadField, "the checksum is wrong: something before is damaged")
		}
		return nil
	}
	if what != decoder.RawFlagFileHeader {
		for _, crc := range f.crcs {
			_, _ = crc.Write(b)
		}
	}
	return nil
}

// finish makes a track or route of the chained file.
func (f *fitReader) finish() {
	f.endSegment()
	line := Track{Name: f.line.Name, Segments: cutAt(f.line.Segments, f.starts)}
	switch {
	case len(line.Segments) == 0:
	case f.course:
		f.log.Routes = append(f.log.Routes, line)
	default:
		f.log.Tracks = append(f.log.Tracks, line)
	}
}

func (f *fitReader) endSegment() {
	if fixes := f.fixes.take(); len(fixes) > 0 {
		f.line.Segments = append(f.line.Segments, fixes)
	}
}

// note counts what is odd at the last message.
func (f *fitReader) note(k NoteKind, what string) {
	f.log.Notes.Add(k, func() string { return where(f.log.Name, max(f.messages, 1)) + ": " + what })
}
