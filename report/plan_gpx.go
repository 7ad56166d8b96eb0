package report

import (
	"encoding/xml"
	"io"

	"untrod/coverage"
	"untrod/plan"
)

type gpxRte struct {
	Name string   `xml:"name"`
	Desc string   `xml:"desc"`
	Pts  []gpxWpt `xml:"rtept"`
}

// PlanGPX writes GPX 1.1 to walk by: waypoints where to set out, where each stop
// begins, at the corners of its blocks of lanes (the ends of the first and the last
// lane, where flags go) and at the end; a route for each block, its lanes to and
// fro, and for each way between stops. Names are unique, within 20 characters, and
// sort in walking order: "01 begin gap 7", "01 corner 1", "01 lanes 1-9".
func PlanGPX(w io.Writer, r *coverage.Result, p *plan.Plan, u Units) error {
	doc := newGPX(siteName(r) + ": the next visit")
	for _, i := range itemsOf(p, u) {
		var pts []gpxWpt
		for _, q := range i.xy {
			pts = append(pts, gpxPoint(r.Frame.ToLonLat(q)))
		}
		if len(pts) == 1 {
			pts[0].Name, pts[0].Desc = i.name, i.desc
			doc.Wpts = append(doc.Wpts, pts[0])
		} else {
			doc.Rtes = append(doc.Rtes, gpxRte{i.name, i.desc, pts})
		}
	}
	return writeXML(w, doc)
}

// writeXML writes doc, indented by one space.
func writeXML(w io.Writer, doc any) error {
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", " ")
	if err := enc.Encode(doc); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}
