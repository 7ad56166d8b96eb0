package report

import (
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"strconv"

	"untrod/coverage"
	"untrod/grid"
)

// GroundPNG writes the ground in three states (by passes, when positions are taken as
// perfect) and nothing else, north up in the site's own frame, clear where it cannot be
// searched. GroundWorld and GroundPRJ say where it lies. A pixel is a cell, a piece of
// one on small ground, or a square of 2, 4, 8 ... on a side from 2048 cells on.
func GroundPNG(w io.Writer, r *coverage.Result) error {
	return png.Encode(w, rasterise(r, r.Tally).img)
}

// GroundWorld writes the world file of GroundPNG, for ground.pgw: six lines, the width of
// a pixel, two turns of 0, its height, below 0, and the middle of the upper left pixel,
// in metres of the site's frame.
func GroundWorld(w io.Writer, r *coverage.Result) error {
	return worldFile(w, rasterise(r, r.Tally))
}

func worldFile(w io.Writer, ras raster) error {
	size := ras.img.Rect.Size()
	px, py := ras.bounds.Width()/float64(size.X), ras.bounds.Height()/float64(size.Y)
	for _, x := range []float64{px, 0, 0, -py, ras.bounds.Min.X + px/2, ras.bounds.Max.Y - py/2} {
		if _, err := fmt.Fprintln(w, strconv.FormatFloat(roundTo(x, 10), 'f', -1, 64)); err != nil {
			return err
		}
	}
	return nil
}

// GroundPRJ writes the site's projection as the well-known text that goes with world
// files and tables of shapes, for ground.prj: a transverse Mercator on WGS 84 about the
// datum, scale 1, in metres, as GeoTIFF has it.
func GroundPRJ(w io.Writer, r *coverage.Result) error {
	_, err := fmt.Fprintln(w, wkt(r.Frame))
	return err
}

// wkt is WKT 1 (OGC 01-009) with the names that .prj files use.
func wkt(f grid.Frame) string {
	d := f.Datum()
	return fmt.Sprintf(`PROJCS["Local_transverse_Mercator_about_the_site",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",%s],PARAMETER["Scale_Factor",1.0],PARAMETER["Latitude_Of_Origin",%s],UNIT["Meter",1.0]]`,
		strconv.FormatFloat(d.Lon, 'f', -1, 64), strconv.FormatFloat(d.Lat, 'f', -1, 64))
}

// pamFile is what GDAL reads beside a picture, where it takes no .prj.
type pamFile struct {
	XMLName xml.Name `xml:"PAMDataset"`
	SRS     pamSRS   `xml:"SRS"`
}

type pamSRS struct {
	Axes string `xml:"dataAxisToSRSAxisMapping,attr"`
	WKT  string `xml:",chardata"`
}

// GroundAux writes the same projection for ground.png.aux.xml: GDAL, and what is built
// on it, takes the place from the world file and the projection from here. It wants no
// XML declaration.
func GroundAux(w io.Writer, r *coverage.Result) error {
	return xml.NewEncoder(w).Encode(pamFile{SRS: pamSRS{"1,2", wkt(r.Frame)}})
}
