package main

import (
	"io"
	"os"
	"path/filepath"

	"untrod/coverage"
	"untrod/grid"
	"untrod/internal/check"
	"untrod/site"
	"untrod/track"
)

// scene is an invented site with visits whose true paths are known. Positions
// are in metres of the frame at datum.
type scene struct {
	name     string
	datum    grid.LonLat
	features []feature
	visits   []sceneVisit
}

// feature is one feature of the site. A boundary or keep-out is a ring.
type feature struct {
	role, name, kind string
	shape            site.Shape
	xy               []grid.XY // metres
}

type sceneVisit struct {
	file, name string
	walk       check.WalkSettings
	mark       string // stood at on the way in, and logged as a waypoint; may be empty
}

// siteFile is where the scene's site is written, below its folder.
const siteFile = "site.geojson"

// files are the paths of everything write makes.
func (s *scene) files(dir string) []string {
	out := []string{filepath.Join(dir, siteFile)}
	for _, v := range s.visits {
		out = append(out, filepath.Join(dir, v.file))
	}
	return out
}

// remove takes away what write made.
func (s *scene) remove(dir string) {
	for _, path := range s.files(dir) {
		os.Remove(path)
	}
	for _, v := range s.visits {
		os.Remove(filepath.Dir(filepath.Join(dir, v.file))) // only when it is empty
	}
}

// write makes the site file and a log per visit under dir, and returns the
// visits with their truth.
func (s *scene) write(dir string) ([]check.Visit, error) {
	frame, err := grid.NewFrame(s.datum)
	if err != nil {
		return nil, err
	}
	if err := writeFile(filepath.Join(dir, siteFile), s.site(frame).WriteGeoJSON); err != nil {
		return nil, err
	}
	var visits []check.Visit
	for _, v := range s.visits {
		walk := s.bound(v.walk)
		for _, f := range s.features {
			if f.role == "mark" && f.name == v.mark {
				walk.Stops = f.xy
			}
		}
		visit := check.Simulate(walk)
		err := writeFile(filepath.Join(dir, v.file), func(w io.Writer) error {
			fixes := check.Fixes(frame, visit.Log)
			return check.WriteGPX(w, v.name, fixes, waypoints(v.mark, visit.Stops, fixes)...)
		})
		if err != nil {
			return nil, err
		}
		visits = append(visits, visit)
	}
	return visits, nil
}

// waypoints are what a receiver logs when its button is pressed at these moments.
func waypoints(name string, at []track.Instant, fixes []track.Fix) []track.Waypoint {
	var out []track.Waypoint
	for _, t := range at {
		for _, f := range fixes {
			if f.T >= t {
				out = append(out, track.Waypoint{Fix: f, Name: name})
				break
			}
		}
	}
	return out
}

// bound keeps a walk on the scene's searchable ground.
func (s *scene) bound(w check.WalkSettings) check.WalkSettings {
	for _, f := range s.features {
		switch f.role {
		case "boundary":
			w.Boundary = append(w.Boundary, grid.Polygon{Outer: f.xy})
		case "keepout":
			w.Keepouts = append(w.Keepouts, grid.Polygon{Outer: f.xy})
		}
	}
	return w
}

// site is the scene's site in degrees.
func (s *scene) site(frame grid.Frame) *site.Site {
	out := &site.Site{Name: s.name}
	for _, f := range s.features {
		at := make([]grid.LonLat, len(f.xy))
		for i, p := range f.xy {
			at[i] = frame.ToLonLat(p)
		}
		switch f.role {
		case "boundary":
			out.Boundary = append(out.Boundary, site.Area{Name: f.name, Outer: at})
		case "keepout":
			out.Keepouts = append(out.Keepouts, site.Area{Name: f.name, Outer: at})
		default:
			out.Landmarks = append(out.Landmarks, site.Landmark{
				Name: f.name, Kind: f.kind, Mark: f.role == "mark", Shape: f.shape, Points: at,
			})
		}
	}
	return out
}

// truePercent is the share of r's searchable ground that the visits truly
// swept, by the same sweep on the true paths.
func (s *scene) truePercent(visits []check.Visit, r *coverage.Result) (float64, error) {
	frame, err := grid.NewFrame(s.datum)
	if err != nil {
		return 0, err
	}
	swept := grid.NewMask(r.Spec)
	for _, v := range visits {
		for _, line := range v.TrueLines() {
			for i, p := range line {
				line[i] = r.Frame.ToXY(frame.ToLonLat(p))
			}
			coverage.Sweep(swept, line, r.Settings.SwathM/2)
		}
	}
	swept.And(r.Searchable)
	return 100 * float64(swept.Count()) / float64(r.Searchable.Count()), nil
}

// writeFile makes a file and the folders above it.
func writeFile(path string, write func(io.Writer) error) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	err = write(f)
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}
