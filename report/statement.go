package report

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"untrod/coverage"
	"untrod/site"
)

// StatementSchema names the form of a statement; it changes when a field changes its
// meaning.
const StatementSchema = statementKind + "1"

const statementKind = "untrod-statement-"

// Says is what a statement says beside the result.
type Says struct {
	Issued                string // the day, 2006-01-02
	Searcher, Owner, Note string // by and for whom, and a word; each may be empty
	Program               string // its version
	Units                 Units
	Inputs                []InputDoc
	Settings              coverage.Settings // as given to coverage.Assess
	Site                  *site.Site        // as given to it, see [CarriedSite]
	Finds                 *FindTable        // nil: finds are not stated
}

// InputDoc is a file that a statement is made from, and which visits of it.
type InputDoc struct {
	Name    string            `json:"name"`
	SHA256  string            `json:"sha256"` // of the file, in hex
	Walker  string            `json:"walker"`
	Columns map[string]string `json:"columns"` // of a table, as given; null: found by their heads
	Visits  []VisitDoc        `json:"visits"`  // none: the file could not be used
}

// VisitDoc is one visit as it was read of a file. The SHA-256 is over its fixes and
// the waypoints of the file.
type VisitDoc struct {
	Name   string `json:"name"`
	Fixes  int    `json:"fixes"`
	SHA256 string `json:"sha256"`
}

// StatementContent is all that a statement states, and all that is needed to work it
// out again.
type StatementContent struct {
	Claim     string          `json:"claim"`
	Issued    string          `json:"issued"`
	Searcher  string          `json:"searched_by"`
	Owner     string          `json:"for"`
	Note      string          `json:"note"`
	Program   string          `json:"program"`
	Units     string          `json:"units"`
	Seed      uint64          `json:"seed"`
	Inputs    []InputDoc      `json:"inputs"`
	Settings  GivenDoc        `json:"settings"`
	Site      json.RawMessage `json:"site"` // GeoJSON; null: the outline was drawn round the searched ground
	Landmarks []NearDoc       `json:"landmarks"`
	Summary   SummaryDoc      `json:"summary"`
	Finds     *FindsDoc       `json:"finds,omitempty"` // absent: not stated
}

// Statement is a result in the form that proves it.
type Statement struct {
	Content   StatementContent
	SHA256    string // of the content as JSON without white space
	Signature *SignatureDoc

	text []byte // the content as JSON without white space
	r    *coverage.Result
	u    Units
	png  []byte
}

// NewStatement makes the statement of a result. The key signs it; nil: unsigned. The
// same arguments make the same bytes. It fails for a day that is none.
func NewStatement(r *coverage.Result, s Says, key ed25519.PrivateKey) (*Statement, error) {
	var pic bytes.Buffer
	if err := MapPNG(&pic, r, s.Units); err != nil {
		return nil, err
	}
	return newStatement(r, s, key, pic.Bytes())
}

func newStatement(r *coverage.Result, s Says, key ed25519.PrivateKey, png []byte) (*Statement, error) {
	if _, err := time.Parse(time.DateOnly, s.Issued); err != nil {
		return nil, fmt.Errorf("day of issue %q: must be a date such as 2026-06-12", s.Issued)
	}
	c, err := ContentOf(r, s)
	if err != nil {
		return nil, err
	}
	out := &Statement{Content: c, r: r, u: s.Units, png: png}
	if out.text, err = c.JSON(); err != nil {
		return nil, err
	}
	out.SHA256 = sumOf(out.text)
	if key != nil {
		out.Signature = sign(out.text, key)
	}
	return out, nil
}

// ContentOf is what a statement of a result states.
func ContentOf(r *coverage.Result, s Says) (StatementContent, error) {
	c := StatementContent{
		Claim: claim(r, s.Units), Issued: s.Issued, Searcher: s.Searcher, Owner: s.Owner, Note: s.Note,
		Program: s.Program, Units: unitNames[s.Units], Seed: s.Settings.Position.Seed,
		Inputs: append([]InputDoc{}, s.Inputs...), Settings: given(s.Settings), Site: []byte("null"),
		Landmarks: nearLandmarks(r), Summary: Summary(r),
	}
	if s.Finds != nil {
		c.Finds = findsDoc(r, s.Finds)
	}
	if s.Site != nil {
		text, err := siteText(s.Site)
		if err != nil {
			return c, err
		}
		c.Site = text
	}
	return c, nil
}

var unitNames = []string{"metric", "imperial"}

// JSON is the content without white space.
func (c StatementContent) JSON() ([]byte, error) {
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(c); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(out.Bytes(), []byte("\n")), nil
}

// CarriedSite is s as a statement carries it: through its own GeoJSON, which rounds
// positions to 1e-8 degree, so that whoever works the result out again has the very
// same ground. A nil site is nil.
func CarriedSite(s *site.Site) (*site.Site, error) {
	if s == nil {
		return nil, nil
	}
	text, err := siteText(s)
	if err != nil {
		return nil, err
	}
	return site.Read(bytes.NewReader(text), "site")
}

func siteText(s *site.Site) ([]byte, error) {
	var text, out bytes.Buffer
	if err := s.WriteGeoJSON(&text); err != nil {
		return nil, err
	}
	err := json.Compact(&out, text.Bytes())
	return out.Bytes(), err
}

// Says is what a statement that was read says beside its result, to work it out again.
// The finds are not in it: of them a statement has counts alone.
func (c StatementContent) Says() (s Says, err error) {
	s = Says{
		Issued: c.Issued, Searcher: c.Searcher, Owner: c.Owner, Note: c.Note, Program: c.Program, Inputs: c.Inputs,
	}
	if c.Units == unitNames[Imperial] {
		s.Units = Imperial
	}
	if s.Settings, err = c.Settings.Settings(); err != nil || string(c.Site) == "null" {
		return s, err
	}
	s.Site, err = site.Read(bytes.NewReader(c.Site), "site")
	return s, err
}

// WriteJSON writes the statement as ReadStatement reads it back.
func (s *Statement) WriteJSON(w io.Writer) error {
	return writeEnvelope(w, s.text, s.SHA256, s.Signature)
}
