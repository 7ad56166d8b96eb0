package main

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/report"
	"untrod/track"
)

// audit takes down what is read of each source while an assessment reads it, so that
// the statement is of the very bytes that were used.
type audit struct {
	sources []coverage.Source
	docs    []report.InputDoc
}

// newAudit wraps sources. Names are made valid UTF-8, as JSON will have them.
func newAudit(logs []coverage.Source, gapS float64) *audit {
	a := &audit{docs: make([]report.InputDoc, len(logs))}
	for i, src := range logs {
		src.Name = strings.ToValidUTF8(src.Name, "\uFFFD")
		read, doc := readAudited(src, gapS), &a.docs[i]
		*doc = report.InputDoc{Name: src.Name, Walker: src.Walker, Columns: src.CSV, Visits: []report.VisitDoc{}}
		src.Open, src.Visits = nil, func() ([]coverage.Visit, error) {
			visits, sum, err := read()
			doc.SHA256, doc.Visits = sum, []report.VisitDoc{} // again: a source may be read twice
			for _, v := range visits {
				doc.Visits = append(doc.Visits, visitDoc(v))
			}
			return visits, err
		}
		a.sources = append(a.sources, src)
	}
	return a
}

// inputs are what was read, of the sources that keep wants.
func (a *audit) inputs(keep func(name string) bool) []report.InputDoc {
	return slices.DeleteFunc(slices.Clone(a.docs), func(d report.InputDoc) bool { return !keep(d.Name) })
}

// readAudited reads the visits of a source and the SHA-256 of its bytes.
func readAudited(src coverage.Source, gapS float64) func() ([]coverage.Visit, string, error) {
	if src.Visits != nil {
		return func() ([]coverage.Visit, string, error) {
			visits, err := src.Visits()
			sum := ""
			if len(visits) > 0 {
				sum = visits[0].SHA256
			}
			return visits, sum, err
		}
	}
	return func() ([]coverage.Visit, string, error) {
		in, err := src.Open()
		if err != nil {
			return nil, "", err
		}
		defer in.Close()
		hash := sha256.New()
		tee := io.TeeReader(in, hash)
		logs, err := track.Opener{CSV: src.CSV}.Read(tee, src.Name)
		if _, unread := io.Copy(io.Discard, tee); err == nil && unread != nil {
			err = fmt.Errorf("%s: %w", src.Name, unread)
		}
		sum := hex.EncodeToString(hash.Sum(nil))
		if err != nil {
			return nil, sum, err
		}
		return coverage.VisitsOf(logs, src.Name, sum, gapS), sum, nil
	}
}

// visitDoc names a visit by what was read: every field of every fix, where its
// segments part, and the waypoints of the file.
func visitDoc(v coverage.Visit) report.VisitDoc {
	d := report.VisitDoc{Name: v.Name}
	h := sha256.New()
	var buf []byte
	for _, segment := range v.Segments {
		buf = binary.LittleEndian.AppendUint64(buf[:0], uint64(len(segment)))
		for _, f := range segment {
			buf = appendFix(buf, f)
		}
		h.Write(buf)
		d.Fixes += len(segment)
	}
	for _, w := range v.Waypoints {
		buf = appendFix(buf[:0], w.Fix)
		for _, s := range []string{w.Name, w.Desc, w.Sym, w.Type} {
			buf = binary.LittleEndian.AppendUint64(buf, uint64(len(s)))
			buf = append(buf, s...)
		}
		h.Write(buf)
	}
	d.SHA256 = hex.EncodeToString(h.Sum(nil))
	return d
}

// appendFix writes every field of a fix; a test counts them.
func appendFix(b []byte, f track.Fix) []byte {
	for _, x := range []float64{f.Pos.Lon, f.Pos.Lat, float64(f.EleM), float64(f.HDOP), float64(f.PDOP), float64(f.AccM)} {
		if math.IsNaN(x) {
			x = math.NaN() // one NaN is as good as another
		}
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	b = binary.LittleEndian.AppendUint64(b, uint64(f.T))
	return append(binary.LittleEndian.AppendUint16(b, uint16(f.Sats)), byte(f.Kind))
}
