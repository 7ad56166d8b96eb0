package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"sync"

	"untrod/coverage"
	"untrod/grid"
	"untrod/plan"
	"untrod/report"
)

const (
	plansKept   = 8
	sliderHours = 8 // the ground is surveyed for so many hours at once
	mostHours   = 24
	// sliderEffort finds, on the demonstration and a season's ground, the trips that the
	// command's effort does, in a fifth of the time.
	sliderEffort = plan.DefaultEffort / 5
)

// NextDoc asks for a plan of the next visit.
type NextDoc struct {
	Datum   *report.LonLatDoc `json:"datum"`
	Hours   float64           `json:"hours"`
	Start   *PointDoc         `json:"start"` // left out: the usual place to set out from
	End     *PointDoc         `json:"end"`   // left out: the start
	ByFinds bool              `json:"by_finds"`
}

// NextPlanDoc is a plan and what of it goes on the map.
type NextPlanDoc struct {
	ID    int              `json:"id"`
	Rev   int              `json:"rev"`
	Stage string           `json:"stage"` // of the result it was made from
	Datum report.LonLatDoc `json:"datum"`
	Plan  report.PlanDoc   `json:"plan"`
	Stops []NextStopDoc    `json:"stops"`
	Lanes []NextLaneDoc    `json:"lanes"`
	Ways  [][]PointDoc     `json:"ways"` // from the start to stop after stop, and to the end
}

// NextStopDoc is where a stop begins.
type NextStopDoc struct {
	N  int      `json:"n"`
	At PointDoc `json:"at"`
}

// NextLaneDoc is a lane, in the direction to walk it.
type NextLaneDoc struct {
	Stop int         `json:"stop"`
	N    int         `json:"n"`
	Line [2]PointDoc `json:"line"`
}

// planning makes plans, one at a time, and keeps the last few for their files.
type planning struct {
	s *server

	mu     sync.Mutex
	cancel context.CancelFunc // of the plan being made
	kept   []*planned         // newest last
	last   int

	making   sync.Mutex // held by whoever uses what is below, and planned.whole
	surveyed surveyOf
	survey   *plan.Survey // nil: none yet
}

// surveyOf is what a survey depends on.
type surveyOf struct {
	rev        int
	start, end grid.XY
	byFinds    bool
	longestS   float64
}

// planned is a plan that was shown.
type planned struct {
	id    int
	from  *shown
	of    surveyOf
	plan  *plan.Plan
	whole *plan.Plan // the same with what other hours would bring; nil until asked for
}

func (s *server) planRoutes(m *http.ServeMux) {
	p := &planning{s: s}
	m.Handle("POST /api/plan", asking(p.make))
	m.Handle("GET /plan/{id}/{file}", asking(p.file))
}

// make answers POST /api/plan. A newer question ends an older one.
func (p *planning) make(w http.ResponseWriter, r *http.Request) error {
	var ask NextDoc
	if err := readDoc(w, r, &ask); err != nil {
		return err
	}
	now, err := p.s.desk.current()
	if err != nil {
		return err
	}
	set, err := ask.settings(now, p.s.cfg.Now())
	if err != nil {
		return err
	}
	ctx, done := p.turn(r.Context())
	defer done()
	made, err := p.plan(ctx, now, set)
	switch {
	case ctx.Err() != nil && r.Context().Err() == nil:
		return refuse(http.StatusConflict, "another plan was asked for meanwhile")
	case err != nil:
		return planProblem(err)
	}
	return answer(w, made.doc())
}

// turn waits until the plan under way, which it ends, is given up.
func (p *planning) turn(ctx context.Context) (context.Context, func()) {
	ctx, cancel := context.WithCancel(ctx)
	p.mu.Lock()
	if p.cancel != nil {
		p.cancel()
	}
	p.cancel = cancel
	p.mu.Unlock()
	p.making.Lock()
	return ctx, func() {
		p.making.Unlock()
		cancel()
	}
}

// plan makes a plan and keeps it. Whoever calls it has the turn.
func (p *planning) plan(ctx context.Context, now *shown, set plan.Settings) (*planned, error) {
	of := surveyOf{now.rev, set.Start, set.End, len(set.Finds) > 0, 3600 * sliderHours}
	if set.BudgetS > of.longestS {
		of.longestS = 3600 * mostHours
	}
	survey, err := p.surveyFor(ctx, now, of, set)
	if err != nil {
		return nil, err
	}
	next, err := survey.Plan(ctx, set.BudgetS)
	if err != nil {
		return nil, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.last++
	made := &planned{id: p.last, from: now, of: of, plan: next}
	p.kept = append(p.kept, made)
	p.kept = slices.Delete(p.kept, 0, max(0, len(p.kept)-plansKept))
	return made, nil
}

// surveyFor is the survey of before, where nothing but the hours is new.
func (p *planning) surveyFor(ctx context.Context, now *shown, of surveyOf, set plan.Settings) (*plan.Survey, error) {
	if p.survey != nil && p.surveyed == of {
		return p.survey, nil
	}
	set.BudgetS, set.Hours = of.longestS, nil
	survey, err := plan.NewSurvey(ctx, now.result, set, nil)
	if err != nil {
		return nil, err
	}
	p.survey, p.surveyed = survey, of
	return survey, nil
}

// planProblem says in the words of the page what plan refuses.
func planProblem(err error) error {
	var short *plan.BudgetError
	var setting *coverage.SettingsError
	switch {
	case errors.As(err, &short):
		return refuse(http.StatusUnprocessableEntity, err.Error(), "give more time, or a start and end nearer to the gaps")
	case errors.As(err, &setting):
		return refuse(http.StatusUnprocessableEntity, fmt.Sprintf("%s: %s, must be %s", setting.Flag, setting.Value, setting.Allowed))
	}
	return err
}

// doc is the answer; places in the metres of the result it was made from.
func (n *planned) doc() NextPlanDoc {
	f := n.from.result.Frame
	d := NextPlanDoc{
		ID: n.id, Rev: n.from.rev, Stage: n.from.stage, Datum: datumDoc(f), Plan: report.PlanOf(n.from.result, n.plan),
		Stops: []NextStopDoc{}, Lanes: []NextLaneDoc{}, Ways: [][]PointDoc{},
	}
	spot := func(at report.LonLatDoc) PointDoc {
		return pointDoc(f.ToXY(grid.LonLat{Lon: float64(at.Lon), Lat: float64(at.Lat)}))
	}
	for _, s := range d.Plan.Stops {
		for i, l := range s.Lanes {
			lane := NextLaneDoc{s.Stop, l.Lane, [2]PointDoc{spot(l.From), spot(l.To)}}
			if d.Lanes = append(d.Lanes, lane); i == 0 {
				d.Stops = append(d.Stops, NextStopDoc{s.Stop, lane.Line[0]})
			}
		}
	}
	for _, s := range n.plan.Stops {
		d.Ways = append(d.Ways, lineDoc(s.Approach))
	}
	if len(n.plan.Home) > 0 {
		d.Ways = append(d.Ways, lineDoc(n.plan.Home))
	}
	return d
}

// find is the plan of an id, as long as it is kept.
func (p *planning) find(id string) (*planned, error) {
	n, err := strconv.Atoi(id)
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, k := range p.kept {
		if err == nil && k.id == n {
			return k, nil
		}
	}
	return nil, refuse(http.StatusNotFound, "this plan is no longer kept", "make it anew")
}
