package report

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"untrod/coverage"
	"untrod/grid"
)

// ErrTooManyCells is what GeoTIFF returns, wrapped, for ground of more than
// MaxTIFFCells cells.
var ErrTooManyCells = errors.New("too many cells for a raster file")

// MaxTIFFCells is the most cells, empty ones included, GeoTIFF writes out.
const MaxTIFFCells = 400_000_000

const stripRows = 64

// band is the one band of such a file: for every cell that can be searched a
// number, and the most that fits the sample for the others.
type band struct {
	file   string // named in errors
	bytes  int    // of a sample, 1 or 2
	values passes
	about  string // what the numbers mean, as GDAL's metadata; may be empty
}

// noData is the sample of cells that cannot be searched.
func (b band) noData() uint16 { return uint16(1<<(8*b.bytes) - 1) }

// GeoTIFF writes the passes over every cell as one band of 16-bit numbers, row
// 0 the northernmost, 65535 (also given as GDAL's no-data tag) where the ground
// cannot be searched. It lies in the site's own frame: a user-defined
// transverse Mercator projection on WGS 84 about the datum, scale 1, no false
// origin, in metres (GeoTIFF 1.1, OGC 19-008r4, section 7 and annex C).
//
// Memory is that of the compressed file and one strip of 64 rows; strips
// without searchable ground share one copy. Over MaxTIFFCells cells it writes
// nothing and returns ErrTooManyCells.
func GeoTIFF(w io.Writer, r *coverage.Result) error {
	return geoTIFF(w, r, passBand(r.Tally))
}

func passBand(p passes) band { return band{file: "coverage.tif", bytes: 2, values: p} }

// ChanceTIFF is like GeoTIFF, but writes the chance that each cell was swept, in
// whole percent, as 8-bit numbers, 255 where the ground cannot be searched. The
// cells are those of GeoTIFF, finer than the chance itself. With positions
// taken as perfect it is 0 or 100.
func ChanceTIFF(w io.Writer, r *coverage.Result) error {
	return geoTIFF(w, r, band{file: "chance.tif", bytes: 1, values: chances{r}})
}

// chances are percents in the place of passes.
type chances struct{ r *coverage.Result }

// RowPasses implements passes.
func (c chances) RowPasses(row, colLo int, dst []uint16) {
	for i := range dst {
		k := grid.Cell{Col: colLo + i, Row: row}
		switch {
		case c.r.Certainty != nil:
			dst[i] = uint16(math.Round(100 * c.r.Certainty.ChanceAt(c.r.Spec.Centre(k))))
		case c.r.Swept.Has(k):
			dst[i] = 100
		default:
			dst[i] = 0
		}
	}
}

func geoTIFF(w io.Writer, r *coverage.Result, b band) error {
	s := r.Spec
	if s.Cols <= 0 || s.Rows <= 0 || s.Cols > MaxTIFFCells/s.Rows {
		return fmt.Errorf("%s: %d x %d cells: %w", b.file, s.Cols, s.Rows, ErrTooManyCells)
	}
	strips, err := compressStrips(r, b)
	if err != nil {
		return err
	}
	d := directory(r, b, strips)
	if b.about != "" {
		noData := d.fields[len(d.fields)-1]
		d.fields = d.fields[:len(d.fields)-1]
		d.ascii(42112, b.about)
		d.fields = append(d.fields, noData) // tags go in order
		d.place(strips)
	}
	if _, err := w.Write(d.bytes()); err != nil {
		return err
	}
	for _, data := range strips.data {
		if _, err := w.Write(data); err != nil {
			return err
		}
	}
	return nil
}

// tiffStrips are compressed strips, each a piece of data.
type tiffStrips struct {
	data  [][]byte
	piece []int // for every strip its index in data
}

func compressStrips(r *coverage.Result, b band) (out tiffStrips, err error) {
	s := r.Spec
	c := stripper{r: r, band: b, row: make([]uint16, s.Cols), raw: make([]byte, b.bytes*s.Cols*stripRows)}
	c.zip, _ = zlib.NewWriterLevel(&c.buf, zlib.BestSpeed)
	shared := map[int]int{} // rows of an empty strip to its index in data
	for top := 0; top < s.Rows; top += stripRows {
		rows := min(stripRows, s.Rows-top)
		empty := c.fill(top, rows)
		if i, ok := shared[rows]; ok && empty {
			out.piece = append(out.piece, i)
			continue
		}
		data, err := c.compress(rows)
		if err != nil {
			return out, err
		}
		if empty {
			shared[rows] = len(out.data)
		}
		out.piece = append(out.piece, len(out.data))
		out.data = append(out.data, data)
	}
	return out, nil
}

// stripper fills and compresses one strip at a time.
type stripper struct {
	r    *coverage.Result
	band band
	row  []uint16
	raw  []byte
	buf  bytes.Buffer
	zip  *zlib.Writer
}

// fill puts rows of the picture from top on into raw and reports whether none
// of their cells can be searched.
func (c *stripper) fill(top, rows int) (empty bool) {
	empty = true
	for i := range rows {
		row := c.r.Spec.Rows - 1 - top - i
		for col := range c.row {
			c.row[col] = c.band.noData()
		}
		if c.fillRow(row) {
			empty = false
		}
		line := c.raw[c.band.bytes*i*len(c.row):]
		for col, v := range c.row {
			if c.band.bytes == 1 {
				line[col] = uint8(v)
			} else {
				binary.LittleEndian.PutUint16(line[2*col:], v)
			}
		}
	}
	return empty
}

func (c *stripper) fillRow(row int) (any bool) {
	var buf [grid.TileSide]uint16
	for col := 0; col < len(c.row); col += grid.TileSide {
		can := word(c.r.Searchable.Tile(col/grid.TileSide, row/grid.TileSide), row%grid.TileSide)
		if can == 0 {
			continue
		}
		any = true
		dst := c.row[col:min(col+grid.TileSide, len(c.row))]
		c.band.values.RowPasses(row, col, buf[:len(dst)])
		for i := range dst {
			if can>>i&1 != 0 {
				dst[i] = min(buf[i], c.band.noData()-1)
			}
		}
	}
	return any
}

func (c *stripper) compress(rows int) ([]byte, error) {
	c.buf.Reset()
	c.zip.Reset(&c.buf)
	if _, err := c.zip.Write(c.raw[:c.band.bytes*rows*len(c.row)]); err != nil {
		return nil, err
	}
	if err := c.zip.Close(); err != nil {
		return nil, err
	}
	return bytes.Clone(c.buf.Bytes()), nil
}

// directory describes the picture. The strips follow it, in order.
func directory(r *coverage.Result, band band, strips tiffStrips) *ifd {
	s, b, datum := r.Spec, r.Spec.Bounds(), r.Frame.Datum()
	citation := "local transverse Mercator about the site, metres|"
	d := &ifd{}
	d.longs(256, uint32(s.Cols))        // width
	d.longs(257, uint32(s.Rows))        // length
	d.shorts(258, uint16(8*band.bytes)) // bits a sample
	d.shorts(259, 8)                    // Deflate
	d.shorts(262, 1)                    // black is zero
	d.stripOffsets = d.longs(273, make([]uint32, len(strips.piece))...)
	d.shorts(277, 1) // samples a pixel
	d.longs(278, stripRows)
	d.longs(279, strips.sizes()...)
	d.shorts(284, 1) // one plane
	d.shorts(339, 1) // unsigned
	d.doubles(33550, s.CellM, s.CellM, 0)
	d.doubles(33922, 0, 0, 0, b.Min.X, b.Max.Y, 0)
	d.shorts(34735, 1, 1, 0, 14, // GeoKeyDirectory 1.1.0 and its 14 keys: id, place, count, value
		1024, 0, 1, 1, // GTModelType: projected
		1025, 0, 1, 1, // GTRasterType: pixel is area
		1026, 34737, uint16(len(citation)), 0, // GTCitation
		2048, 0, 1, 4326, // GeodeticCRS: WGS 84
		2054, 0, 1, 9102, // GeogAngularUnits: degree
		3072, 0, 1, 32767, // ProjectedCRS: user-defined
		3074, 0, 1, 32767, // Projection: user-defined
		3075, 0, 1, 1, // ProjMethod: transverse Mercator
		3076, 0, 1, 9001, // ProjLinearUnits: metre
		3080, 34736, 1, 0, // ProjNatOriginLong
		3081, 34736, 1, 1, // ProjNatOriginLat
		3082, 34736, 1, 2, // ProjFalseEasting
		3083, 34736, 1, 3, // ProjFalseNorthing
		3092, 34736, 1, 4) // ProjScaleAtNatOrigin
	d.doubles(34736, datum.Lon, datum.Lat, 0, 0, 1)
	d.ascii(34737, citation)
	d.ascii(42113, fmt.Sprint(band.noData()))
	d.place(strips)
	return d
}

func (t tiffStrips) sizes() []uint32 {
	out := make([]uint32, len(t.piece))
	for i, p := range t.piece {
		out[i] = uint32(len(t.data[p]))
	}
	return out
}
