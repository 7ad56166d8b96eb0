package track

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"golang.org/x/text/encoding/charmap"
)

// NotePassedOver counts the members of an archive that are no logs, or cannot be
// read.
const NotePassedOver NoteKind = "passed-over"

const (
	maxArchive   = 512 << 20 // bytes of an archive that are held in memory
	maxMember    = 512 << 20 // bytes of one member, unpacked
	maxMembers   = 10_000
	maxDirectory = 4 << 20 // bytes of the table of members
	maxZips      = 2       // an archive, and one in it
)

func isZip(head []byte) bool {
	return bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06"))
}

// unzipAll reads an archive that has to be held in memory.
func (u *unpacking) unzipAll(r io.Reader, name string, in layers) ([]*Log, error) {
	all, err := io.ReadAll(io.LimitReader(r, maxArchive+1))
	switch {
	case err != nil:
		return nil, &ParseError{Name: name, Err: fmt.Errorf("zip archive: %w", err)}
	case len(all) > maxArchive:
		return nil, &ParseError{Name: name, Err: fmt.Errorf("zip archive over %d MB", maxArchive>>20)}
	case in == layers{}:
		u.grant(int64(len(all)))
	}
	return u.unzip(io.NewSectionReader(bytes.NewReader(all), 0, int64(len(all))), name, in)
}

// unzip reads every member that is a log.
func (u *unpacking) unzip(r *io.SectionReader, name string, in layers) ([]*Log, error) {
	if in.zips++; in.zips > maxZips {
		return nil, &UnsupportedError{Name: name, Found: "is a zip archive in an archive in an archive", Format: anyFormat}
	}
	src := &guardedAt{r: r, left: maxDirectory}
	z, err := zip.NewReader(src, r.Size())
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) { // paths are only names here
		return nil, &ParseError{Name: name, Err: fmt.Errorf("zip archive: %w", err)}
	}
	src.left = math.MaxInt64
	if u.members -= len(z.File); u.members < 0 {
		return nil, &ParseError{Name: name, Err: fmt.Errorf("zip archive of more than %d members", maxMembers)}
	}
	var logs []*Log
	var passed []passedOver
	for i, only := 0, mainKML(z.File, name); i < len(z.File); i++ {
		m := z.File[i]
		if strings.HasSuffix(m.Name, "/") {
			continue // a folder
		}
		found, err := u.member(m, name, in, only)
		if src.err != nil {
			return nil, &ParseError{Name: name, Err: src.err}
		}
		if err != nil {
			passed = append(passed, passedOver{i + 1, memberName(m), reason(err)})
		}
		logs = append(logs, found...)
	}
	if len(logs) == 0 {
		return nil, &UnsupportedError{Name: name, Found: noLogIn(passed), Format: anyFormat}
	}
	for _, p := range passed {
		logs[0].Notes.Add(NotePassedOver, func() string {
			return fmt.Sprintf("%s: %s passed over: %s", where(name, p.number), quoted(p.name), p.why)
		})
	}
	return logs, nil
}

// member reads one member; only, when not nil, is the one KML file to read.
func (u *unpacking) member(m *zip.File, archive string, in layers, only *zip.File) ([]*Log, error) {
	switch {
	case only != nil && m != only && hasSuffixFold(m.Name, ".kml"):
		return nil, errors.New("belongs to " + quoted(memberName(only)))
	case m.Flags&1 != 0:
		return nil, errors.New("is encrypted")
	}
	r, err := m.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	left := int64(maxMember)
	limited := charged{u.charge(r), &left, fmt.Sprintf("%d MB", maxMember>>20)}
	return u.read(limited, archive+"/"+memberName(m), in)
}

// mainKML returns the KML file that a KMZ is about: doc.kml or, in an archive
// called so, the first. It is nil in other archives.
func mainKML(members []*zip.File, archive string) (main *zip.File) {
	for _, m := range members {
		switch {
		case strings.EqualFold(m.Name, "doc.kml"):
			return m
		case main == nil && hasSuffixFold(archive, ".kmz") && hasSuffixFold(m.Name, ".kml"):
			main = m
		}
	}
	return main
}

func hasSuffixFold(s, suffix string) bool {
	return len(s) >= len(suffix) && strings.EqualFold(s[len(s)-len(suffix):], suffix)
}

// memberName is the member's path as text on one line, without colons, which end
// the name in messages. Names that are not UTF-8 are in the old character set of DOS.
func memberName(m *zip.File) string {
	name := m.Name
	if m.NonUTF8 {
		if text, err := charmap.CodePage437.NewDecoder().String(name); err == nil {
			name = text
		}
	}
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == ':' {
			return '_'
		}
		return r
	}, plain([]byte(name)))
}

type passedOver struct {
	number    int // in the archive, from 1
	name, why string
}

// reason is an error without the name of the file.
func reason(err error) string {
	var unsupported *UnsupportedError
	var parse *ParseError
	switch {
	case errors.As(err, &unsupported):
		return unsupported.Found
	case errors.As(err, &parse) && parse.Line > 0:
		return fmt.Sprintf("line %d: %v", parse.Line, parse.Err)
	case errors.As(err, &parse):
		return parse.Err.Error()
	}
	return err.Error()
}

// noLogIn words what an archive holds instead.
func noLogIn(passed []passedOver) string {
	const most = 3
	var words []string
	for _, p := range passed[:min(most, len(passed))] {
		words = append(words, quoted(p.name)+" "+p.why)
	}
	if more := len(passed) - most; more > 0 {
		words = append(words, fmt.Sprintf("and %d more", more))
	}
	if len(words) == 0 {
		return "is a zip archive with nothing in it"
	}
	return "is a zip archive without a log: " + strings.Join(words, ", ")
}

// guardedAt counts down the bytes read and keeps the error of a failing disk.
type guardedAt struct {
	r    io.ReaderAt
	left int64
	err  error
}

func (g *guardedAt) ReadAt(p []byte, off int64) (int, error) {
	if g.left -= int64(len(p)); g.left < 0 {
		return 0, fmt.Errorf("a table of members over %d MB", maxDirectory>>20)
	}
	n, err := g.r.ReadAt(p, off)
	if err != nil && err != io.EOF {
		g.err = err
	}
	return n, err
}
