package report

import (
	"encoding/xml"
	"io"
	"strings"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
)

// The parts of KML 2.2 (OGC 07-147r2) that are written.
type kmlFile struct {
	XMLName  xml.Name `xml:"kml"`
	NS       string   `xml:"xmlns,attr"`
	Document kmlDoc   `xml:"Document"`
}

type kmlDoc struct {
	Name    string      `xml:"name"`
	Styles  []kmlStyle  `xml:"Style"`
	Folders []kmlFolder `xml:"Folder"`
}

type kmlStyle struct {
	ID    string `xml:"id,attr"`
	Color string `xml:"LineStyle>color"` // alpha, blue, green, red
	Width string `xml:"LineStyle>width"`
}

type kmlFolder struct {
	Name   string    `xml:"name"`
	Places []kmlMark `xml:"Placemark"`
}

type kmlMark struct {
	Name  string    `xml:"name"`
	Desc  string    `xml:"description"`
	Style string    `xml:"styleUrl,omitempty"`
	Point *kmlShape `xml:"Point,omitempty"`
	Line  *kmlShape `xml:"LineString,omitempty"`
}

type kmlShape struct {
	Tessellate  int    `xml:"tessellate,omitempty"`
	Coordinates string `xml:"coordinates"`
}

// PlanKML writes what PlanGPX does as KML 2.2: a folder for each stop, one for
// setting out and one for the way home.
func PlanKML(w io.Writer, r *coverage.Result, p *plan.Plan, u Units) error {
	doc := kmlFile{NS: "http://www.opengis.net/kml/2.2"}
	doc.Document.Name = siteName(r) + ": the next visit"
	doc.Document.Styles = []kmlStyle{{"lanes", "ff0d1599", "3"}, {"way", "ff2c2a1f", "2"}}
	for _, i := range itemsOf(p, u) {
		f := &doc.Document.Folders
		if len(*f) <= i.stop { // a stop without lanes has no items
			*f = append(*f, make([]kmlFolder, i.stop+1-len(*f))...)
			(*f)[i.stop].Name = folderName(p, i.stop)
		}
		(*f)[i.stop].Places = append((*f)[i.stop].Places, kmlPlacemark(r.Frame, i))
	}
	return writeXML(w, doc)
}

func folderName(p *plan.Plan, stop int) string {
	switch {
	case stop == 0:
		return "setting out"
	case stop > len(p.Stops):
		return "home"
	}
	n := itemNames{stops: digits(len(p.Stops) + 1)}
	return n.of(stop, gapsOf(p.Stops[stop-1]))
}

func kmlPlacemark(f grid.Frame, i planItem) kmlMark {
	m := kmlMark{Name: i.name, Desc: i.desc}
	var at []string
	for _, q := range i.xy {
		p := gpxPoint(f.ToLonLat(q))
		at = append(at, p.Lon+","+p.Lat)
	}
	shape := &kmlShape{Coordinates: strings.Join(at, " ")}
	if len(at) == 1 {
		m.Point = shape
		return m
	}
	shape.Tessellate = 1 // over the ground, not through it
	m.Line, m.Style = shape, "#way"
	if i.kind == itemLanes {
		m.Style = "#lanes"
	}
	return m
}
