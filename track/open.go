package track

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
)

// Read is [Opener.Read] with nothing set.
func Read(r io.Reader, name string) ([]*Log, error) { return Opener{}.Read(r, name) }

// Opener reads files of every format. The zero value is ready to use.
type Opener struct {
	CSV Columns // what the columns of CSV files hold; what it does not say is found by their heads
}

// Read reads a file by its content, whatever its name: GPX, KML, TCX, GeoJSON, FIT,
// NMEA 0183 or CSV, any of them compressed with gzip or in a zip archive such as
// KMZ. It returns one log for each recording in the file, at least one; one may
// have no fixes, as those made of a map of areas. Errors are those of the format's
// own reader, and an *[UnsupportedError] for what is none of them.
//
// Each log of an archive bears the archive's name, a slash and its own. Members
// that are no logs are counted in the first log's notes as [NotePassedOver]. In a
// KMZ the first KML file is the log. An archive in an archive is read, one in that
// is not. Members' paths are names and nothing else.
//
// What is compressed may unpack to 8 MB and a hundred times its size, a member
// of an archive to 512 MB; what comes after that is left out with a note. An
// archive is held in memory, up to 512 MB of it, unless r can be read at any place
// (io.ReaderAt) and knows its size (io.Seeker); it may have 10,000 members, those
// of archives in it included.
//
// A compressed file that is cut short or damaged yields what came before, with a
// note.
func (o Opener) Read(r io.Reader, name string) ([]*Log, error) {
	u := &unpacking{Opener: o, members: maxMembers}
	if at, ok := sectionOf(r); ok {
		var magic [4]byte
		if _, err := at.ReadAt(magic[:], 0); err == nil && isZip(magic[:]) {
			u.grant(at.Size())
			return u.unzip(at, name, layers{})
		}
	}
	return u.read(r, name, layers{})
}

// sectionOf is what is left of r, where it can be read at any place.
func sectionOf(r io.Reader) (*io.SectionReader, bool) {
	at, ok := r.(interface {
		io.ReaderAt
		io.Seeker
	})
	if !ok {
		return nil, false
	}
	here, err := at.Seek(0, io.SeekCurrent)
	if err != nil {
		return nil, false // a pipe
	}
	end, err := at.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, false
	}
	_, err = at.Seek(here, io.SeekStart)
	return io.NewSectionReader(at, here, max(0, end-here)), err == nil
}

// layers counts what a file is packed in.
type layers struct{ zips, gzips int }

func (u *unpacking) read(r io.Reader, name string, in layers) ([]*Log, error) {
	b := bufio.NewReaderSize(r, sniffBytes)
	head, err := b.Peek(sniffBytes)
	if len(head) == 0 {
		if err == io.EOF {
			err = errors.New("empty file")
		}
		return nil, &ParseError{Name: name, Err: err}
	}
	var log *Log
	switch kind, found := sniff(head, u.CSV); kind {
	case formatGzip:
		return u.gunzip(b, name, in)
	case formatZip:
		return u.unzipAll(b, name, in)
	case formatGPX:
		log, err = ReadGPX(b, name)
	case formatKML:
		log, err = ReadKML(b, name)
	case formatTCX:
		log, err = ReadTCX(b, name)
	case formatGeoJSON:
		log, err = ReadGeoJSON(b, name)
	case formatFIT:
		log, err = ReadFIT(b, name)
	case formatNMEA:
		log, err = ReadNMEA(b, name)
	case formatCSV:
		log, err = ReadCSV(b, name, u.CSV)
	default:
		return nil, refuse(name, found, err)
	}
	if err != nil {
		return nil, err
	}
	return []*Log{log}, nil
}

// refuse names what was found, unless that is a beginning behind which r failed.
func refuse(name, found string, err error) error {
	if err != nil && !isEnd(err) {
		return &ParseError{Name: name, Err: err}
	}
	return &UnsupportedError{Name: name, Found: found, Format: anyFormat}
}

func (u *unpacking) gunzip(r io.Reader, name string, in layers) ([]*Log, error) {
	if in.gzips > 0 {
		return nil, &UnsupportedError{Name: name, Found: "is compressed twice", Format: anyFormat}
	}
	if in.zips == 0 {
		r = granting{r, u}
	}
	z, err := gzip.NewReader(r)
	if err != nil {
		return nil, &ParseError{Name: name, Err: err}
	}
	in.gzips++
	return u.read(u.charge(z), name, in)
}

// unpacking is one call of Opener.Read.
type unpacking struct {
	Opener
	left    int64 // bytes that may still be unpacked
	free    bool  // the first bytes were granted
	members int   // of archives, that may still be read
}

const (
	freeBytes = 8 << 20
	perByte   = 100 // logs pack to a tenth; one of 350 bytes a fix in which only the time changes, to a 97th
)

// grant adds what may be unpacked from n bytes of the file itself.
func (u *unpacking) grant(n int64) {
	if !u.free {
		u.free, u.left = true, freeBytes
	}
	u.left += perByte * n
}

type granting struct {
	r io.Reader
	u *unpacking
}

func (g granting) Read(p []byte) (int, error) {
	n, err := g.r.Read(p)
	g.u.grant(int64(n))
	return n, err
}

// charge returns r's unpacked content, as far as it may be unpacked.
func (u *unpacking) charge(r io.Reader) io.Reader {
	return charged{r, &u.left, "a hundred times its size"}
}

type charged struct {
	r     io.Reader
	left  *int64
	limit string
}

// Read also tells damage within the compressed file from a failing disk.
func (c charged) Read(p []byte) (int, error) {
	if *c.left < 0 {
		return 0, damage(fmt.Sprintf("unpacks to more than %s", c.limit))
	}
	n, err := c.r.Read(p)
	*c.left -= int64(n)
	var corrupt flate.CorruptInputError
	if errors.Is(err, gzip.ErrChecksum) || errors.Is(err, gzip.ErrHeader) || errors.Is(err, zip.ErrChecksum) ||
		errors.Is(err, zip.ErrFormat) || errors.As(err, &corrupt) {
		err = damage(err.Error())
	}
	return n, err
}
