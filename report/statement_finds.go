package report

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/csv"
	hexa "encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"

	"untrod/coverage"
	"untrod/grid"
	"untrod/site"
)

// FindTable is finds as a statement takes them in: a table as site.WriteFinds writes
// it, of a book or of a file.
type FindTable struct {
	rows []site.FindRow
	sum  string
}

// IsFindTable reports whether a file begins as site.WriteFinds begins one.
func IsFindTable(head []byte) bool {
	line, _, _ := bytes.Cut(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), []byte("\n"))
	return string(bytes.TrimSuffix(line, []byte("\r"))) == strings.Join(findTableHead(), ",")
}

func findTableHead() []string {
	var b bytes.Buffer
	_ = site.WriteFinds(&b, nil, nil, nil) // to memory, it cannot fail
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), ",")
}

// ReadFindTable reads a table of finds; name stands in messages. It fails for a table
// of another form, and for one with a value that cannot be read: nothing of it may
// be counted but what it says.
func ReadFindTable(text []byte, name string) (*FindTable, error) {
	if !IsFindTable(text) {
		return nil, fmt.Errorf("%s: not a table of finds as untrod writes it", name)
	}
	c := csv.NewReader(bytes.NewReader(text))
	c.FieldsPerRecord = len(findTableHead())
	cells, err := c.ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	t, err := site.ReadFinds(bytes.NewReader(text), name, site.FindReading{})
	if err != nil {
		return nil, err
	}
	for _, n := range t.Notes.List() {
		return nil, errors.New(n.Example)
	}
	return &FindTable{t.Rows, sumOfRows(cells[1:])}, nil
}

// SHA256 is over the cells of all rows but their numbers, which are another in each
// book. How the table is quoted and how its lines end is no part of it, nor is the
// order of the rows.
func (t *FindTable) SHA256() string { return t.sum }

func sumOfRows(rows [][]string) string {
	var all [][]byte
	for _, cells := range rows {
		var row []byte
		for _, cell := range cells[1:] {
			row = append(binary.LittleEndian.AppendUint64(row, uint64(len(cell))), cell...)
		}
		all = append(all, row)
	}
	slices.SortFunc(all, bytes.Compare)
	sum := sha256.Sum256(bytes.Join(all, nil))
	return hexa.EncodeToString(sum[:])
}

// FindsDoc counts the finds of a table. No place is in it, but for how many lie near
// each landmark.
type FindsDoc struct {
	SHA256 string `json:"sha256"` // see FindTable.SHA256
	Count  int    `json:"count"`
	FindCountDoc
	WithoutPlace int `json:"without_place"`
	OffGround    int `json:"off_ground"` // with a place, which is not on the searchable ground
	// On the searchable ground within 10 m of each landmark, in the order of the
	// site; one near two counts at both.
	Landmarks []NamedCountDoc `json:"landmarks"`
	NearNone  FindCountDoc    `json:"near_none"` // on the ground, but near no landmark
	Visits    []NamedCountDoc `json:"visits"`    // in order of time, those of no visit last, under ""
	Materials []NamedCountDoc `json:"materials"` // by name in lower case, what is not said last, under ""
}

// FindCountDoc counts finds by their verdict.
type FindCountDoc struct {
	Keepers int `json:"keepers"`
	Unknown int `json:"unknown"`
	Scrap   int `json:"scrap"`
}

// NamedCountDoc is a count under a name.
type NamedCountDoc struct {
	Name string `json:"name"`
	FindCountDoc
}

func (c *FindCountDoc) add(v site.Verdict) {
	switch v {
	case site.Keeper:
		c.Keepers++
	case site.Scrap:
		c.Scrap++
	default:
		c.Unknown++
	}
}

// findsDoc counts a table's finds, on the ground of r.
func findsDoc(r *coverage.Result, t *FindTable) *FindsDoc {
	d := &FindsDoc{SHA256: t.sum, Count: len(t.rows), Landmarks: []NamedCountDoc{}}
	var near []*grid.Mask
	for _, l := range r.Local.Landmarks {
		d.Landmarks = append(d.Landmarks, NamedCountDoc{Name: l.Name})
		near = append(near, groundNear(r.Searchable, l))
	}
	for _, f := range t.rows {
		d.add(f.Verdict)
		d.place(r, f, near)
	}
	when := map[string]int{}
	for i, s := range slices.Concat(r.Sessions, r.LeftOut) {
		if _, ok := when[s.Name]; !ok {
			when[s.Name] = i - len(r.Sessions) - len(r.LeftOut) // before those of names not known
		}
	}
	d.Visits = countBy(t.rows, func(f site.FindRow) string { return f.Visit }, when)
	d.Materials = countBy(t.rows, func(f site.FindRow) string { return strings.ToLower(f.Material) }, nil)
	return d
}

// place counts a find where it lies.
func (d *FindsDoc) place(r *coverage.Result, f site.FindRow, near []*grid.Mask) {
	if !f.Placed() {
		d.WithoutPlace++
		return
	}
	c, ok := r.Spec.CellAt(r.Frame.ToXY(f.Pos))
	if !ok || !r.Searchable.Has(c) {
		d.OffGround++
		return
	}
	none := true
	for i, m := range near {
		if m.Has(c) {
			d.Landmarks[i].add(f.Verdict)
			none = false
		}
	}
	if none {
		d.NearNone.add(f.Verdict)
	}
}

// countBy counts finds under names: in the given order, then by name, "" last.
func countBy(rows []site.FindRow, name func(site.FindRow) string, order map[string]int) []NamedCountDoc {
	counts := map[string]*NamedCountDoc{}
	out := []NamedCountDoc{}
	for _, f := range rows {
		n := strings.TrimSpace(name(f))
		if counts[n] == nil {
			counts[n] = &NamedCountDoc{Name: n}
		}
		counts[n].add(f.Verdict)
	}
	for _, c := range counts {
		out = append(out, *c)
	}
	slices.SortFunc(out, func(a, b NamedCountDoc) int {
		if (a.Name == "") != (b.Name == "") {
			return cmp.Compare(b.Name, a.Name)
		}
		return cmp.Or(cmp.Compare(order[a.Name], order[b.Name]), cmp.Compare(a.Name, b.Name))
	})
	return out
}
