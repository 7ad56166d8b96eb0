package report

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"strings"

	"untrod/coverage"
	"untrod/grid"
)

// maxOverlay is the most pixels a ground overlay has on its long side.
const maxOverlay = 4096

// cellClasses tells the class of single cells.
type cellClasses struct {
	r      *coverage.Result
	passes passes
	gaps   *grid.Mask
}

func (c cellClasses) at(k grid.Cell) class {
	switch {
	case !c.r.Spec.Holds(k) || !c.r.Searchable.Has(k):
		return outside
	case c.r.Certainty != nil:
		return stateOf(c.r.Certainty.ChanceAt(c.r.Spec.Centre(k)))
	case c.gaps.Has(k):
		return gap
	case !c.r.Swept.Has(k):
		return sliver
	}
	var n [1]uint16
	c.passes.RowPasses(k.Row, k.Col, n[:])
	return once + class(min(max(n[0], 1), 3)) - 1
}

// lonLatBox is a box of degrees; east may be over 180.
type lonLatBox struct{ west, south, east, north float64 }

// overlayPiece is a picture whose rows and columns lie along parallels and meridians.
type overlayPiece struct {
	box lonLatBox
	img *image.Paletted
}

// overlay is the ground by class, resampled to degrees: the site's own north is true
// north at the datum alone, so that no turned box would hold its own picture exactly.
// Each pixel shows the cell at its middle. A pixel is a cell wide and high, or more
// where over maxOverlay would be needed. Ground across the 180th meridian is cut there.
func overlay(r *coverage.Result, p passes) (out []overlayPiece) {
	box := degreeBox(r)
	step := r.Spec.CellM / 111_320 // a degree of latitude has 110.57 to 111.69 km (from memory)
	step = max(step, (box.north-box.south)/maxOverlay)
	step = max(step, (box.east-box.west)*math.Cos(r.Frame.Datum().Lat*math.Pi/180)/maxOverlay)
	c := cellClasses{r, p, gapMask(r)}
	if box.east > 180 {
		out = append(out, c.piece(lonLatBox{box.west, box.south, 180, box.north}, step))
		box = lonLatBox{-180, box.south, box.east - 360, box.north}
	}
	return append(out, c.piece(box, step))
}

// degreeBox is the box about the cells. Their edges are a little curved in degrees.
func degreeBox(r *coverage.Result) lonLatBox {
	b, near := r.Spec.Bounds(), r.Frame.Datum().Lon
	box := lonLatBox{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	const parts = 16
	for i := range parts + 1 {
		x, y := b.Min.X+b.Width()*float64(i)/parts, b.Min.Y+b.Height()*float64(i)/parts
		for _, q := range []grid.XY{{X: x, Y: b.Min.Y}, {X: x, Y: b.Max.Y}, {X: b.Min.X, Y: y}, {X: b.Max.X, Y: y}} {
			p := r.Frame.ToLonLat(q)
			lon := near + math.Remainder(p.Lon-near, 360)
			box = lonLatBox{min(box.west, lon), min(box.south, p.Lat), max(box.east, lon), max(box.north, p.Lat)}
		}
	}
	if box.west < -180 {
		box.west, box.east = box.west+360, box.east+360
	}
	return box
}

func (c cellClasses) piece(box lonLatBox, stepDeg float64) overlayPiece {
	narrow := math.Cos(c.r.Frame.Datum().Lat * math.Pi / 180)
	rows := max(1, int(math.Ceil((box.north-box.south)/stepDeg)))
	cols := max(1, int(math.Ceil((box.east-box.west)*narrow/stepDeg)))
	img := image.NewPaletted(image.Rect(0, 0, cols, rows), palette())
	for y := range rows {
		lat := box.north - (box.north-box.south)*(float64(y)+0.5)/float64(rows)
		line := c.parallel(box, lat)
		for x := range cols {
			k, _ := c.r.Spec.CellAt(line.at((float64(x) + 0.5) / float64(cols)))
			img.Pix[y*img.Stride+x] = uint8(c.at(k))
		}
	}
	return overlayPiece{box, img}
}

// bow is a curve through three places, a parabola: over 20 km a parallel leaves it by
// less than a centimetre.
type bow [3]grid.XY

func (c cellClasses) parallel(box lonLatBox, lat float64) (b bow) {
	for i := range b {
		b[i] = c.r.Frame.ToXY(grid.LonLat{Lon: box.west + (box.east-box.west)*float64(i)/2, Lat: lat})
	}
	return b
}

func (b bow) at(t float64) grid.XY {
	u, v, w := (2*t-1)*(t-1), 4*t*(1-t), t*(2*t-1)
	return grid.XY{X: u*b[0].X + v*b[1].X + w*b[2].X, Y: u*b[0].Y + v*b[1].Y + w*b[2].Y}
}

// The parts of KML 2.2 (OGC 07-147r2, section 11.2) that an overlay takes.
type kmlOverlays struct {
	XMLName xml.Name     `xml:"kml"`
	NS      string       `xml:"xmlns,attr"`
	Name    string       `xml:"Document>name"`
	Desc    string       `xml:"Document>description"`
	Ground  []kmlOverlay `xml:"Document>GroundOverlay"`
}

type kmlOverlay struct {
	Name  string `xml:"name"`
	Color string `xml:"color"` // alpha, blue, green, red
	Href  string `xml:"Icon>href"`
	North string `xml:"LatLonBox>north"`
	South string `xml:"LatLonBox>south"`
	East  string `xml:"LatLonBox>east"`
	West  string `xml:"LatLonBox>west"`
}

// GroundKMZ writes the ground in three states (by passes, when positions are taken as
// perfect) as a KMZ: a KML 2.2 ground overlay with its picture, somewhat transparent. The
// picture's rows and columns are parallels and meridians, so its box needs no turning,
// and what a pixel shows lies within half a pixel. A pixel is as large as a cell, or
// larger where more than 4096 on a side would be needed. O(pixels).
func GroundKMZ(w io.Writer, r *coverage.Result) error {
	return groundKMZ(w, r, r.Tally)
}

func groundKMZ(w io.Writer, r *coverage.Result, p passes) error {
	doc := kmlOverlays{NS: "http://www.opengis.net/kml/2.2", Name: siteName(r) + ": the ground", Desc: overlayWords(r)}
	pieces := overlay(r, p)
	deg := func(x float64) string { return fmt.Sprintf("%.10f", x) }
	for i, p := range pieces {
		doc.Ground = append(doc.Ground, kmlOverlay{
			Name: "swept ground", Color: "c0ffffff", Href: overlayName(i),
			North: deg(p.box.north), South: deg(p.box.south), East: deg(p.box.east), West: deg(p.box.west),
		})
	}
	z := zip.NewWriter(w) // without times: the same result gives the same bytes
	f, err := z.CreateHeader(&zip.FileHeader{Name: "doc.kml", Method: zip.Deflate})
	if err == nil {
		err = writeXML(f, doc)
	}
	for i, p := range pieces {
		if err != nil {
			return err
		}
		if f, err = z.CreateHeader(&zip.FileHeader{Name: overlayName(i), Method: zip.Store}); err == nil {
			err = png.Encode(f, p.img)
		}
	}
	if err != nil {
		return err
	}
	return z.Close()
}

func overlayName(i int) string { return fmt.Sprintf("files/ground%d.png", i+1) }

// overlayWords are the legend.
func overlayWords(r *coverage.Result) string {
	line, below := headline(r)
	words := []string{line}
	if below != "" {
		words = append(words, below)
	}
	if r.Certainty != nil {
		words = append(words, "Red: untrodden. Sand: in doubt. Blue: surely swept.")
	} else {
		words = append(words, "Red: gaps. Sand: not swept, too small to bother. Blue, the darker the more often: swept.")
	}
	return strings.Join(words, ". ")
}
