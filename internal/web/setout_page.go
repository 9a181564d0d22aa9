package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strconv"

	"panelwright"
	"panelwright/internal/drawing"
	"panelwright/internal/report"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// setout is the page on which stations are moved.
func (s *server) setout(w http.ResponseWriter, r *http.Request) error {
	rev, err := s.present(r)
	if err != nil {
		return err
	}
	id := r.PathValue("panel")
	ctx, stop := context.WithTimeout(r.Context(), setoutPatience)
	defer stop()
	e, ready := s.panels.of(ctx, rev, id)
	body := setoutBody{Rev: rev.Number, Ready: ready}
	p := page{Title: "Set-out", At: "setout", Vehicle: &rev, Panel: &panelHead{ID: id, Name: id}, Script: "setout.js"}
	switch {
	case !ready:
	case errors.Is(e.err, errNoPanel):
		return refuse(http.StatusNotFound, "No such panel", "This vehicle has no panel of that name.").back(address(rev.Vehicle, ""), "To the vehicle")
	case e.err != nil:
		body.Words = e.err.Error()
	case len(e.faults) > 0:
		body.Faults = e.faults
	default:
		pan := e.plan.Panels[0]
		p.Panel.Name, p.Title = pan.Job.Name, "Set-out of "+pan.Job.Name
		if err := body.fill(lookOf(r), e.plan, pan); err != nil {
			return err
		}
	}
	p.Body = body
	s.show(w, r, http.StatusOK, "setout", p)
	return nil
}

// fill gathers what the page shows of a planned panel.
func (b *setoutBody) fill(l look, p *setout.Plan, pan *setout.Panel) error {
	b.Scene = sceneOf(l, p, pan)
	b.Limits = limitsOf(l, pan, 12)
	tally := panelViewOf(pan, l)
	b.Tally = &tally
	b.Pinned = pan.Job.Stations.Mode == "given"
	b.GapLimit = l.Length(pan.Job.Limits.SeamGap.Value)
	b.History = p.History
	g := pan.Bearing
	if g == nil || !g.Known {
		if g != nil {
			b.Why = g.Why
		}
		return nil
	}
	most, at := math.Inf(-1), ""
	for _, c := range g.Cases {
		if c.GapMax > most {
			most, at = c.GapMax, c.Name
		}
	}
	b.Gap, b.GapCase = l.Length(most), at
	b.Why = g.Beyond()
	var err error
	if b.Seams, err = report.SeamFigures(pan); err != nil {
		return err
	}
	var svg bytes.Buffer
	if err := sheet.SVGFragment(&svg, drawing.BearingSheet(p.Job, pan, g.Worst), sheet.Fragment{ID: "bearing", Label: "How far each place of " + pan.Job.Name + " bends outward in the hardest case"}); err != nil {
		return err
	}
	b.Bearing = template.HTML(svg.String())
	return nil
}

// slideStart takes a station up: where it may stand, and where it stands.
func (s *server) slideStart(w http.ResponseWriter, r *http.Request) error {
	pan, station, slide, err := s.slideAsked(r)
	if err != nil {
		return err
	}
	v := viewOf(pan)
	out := slidePlaces{Station: station, At: slide.Nearest(pan.Stations[station].At), GapLimit: pan.Job.Limits.SeamGap.Value,
		LimitTxt: lookOf(r).Length(pan.Job.Limits.SeamGap.Value), Valid: pan.Bearing.Valid(), Why: pan.Bearing.Beyond()}
	for _, q := range slide.Places() {
		at := v.Map(q.At)
		out.Places = append(out.Places, [2]float64{at.X, at.Y})
		out.S = append(out.S, q.S)
	}
	return writeJSON(w, out)
}

// slideMove answers for one place.
func (s *server) slideMove(w http.ResponseWriter, r *http.Request) error {
	pan, _, slide, err := s.slideAsked(r)
	if err != nil {
		return err
	}
	k, err := strconv.Atoi(r.FormValue("k"))
	if err != nil || k < 0 || k >= len(slide.Places()) {
		return refuse(http.StatusBadRequest, "No such place", "Accepted: 0 to %d.", len(slide.Places())-1)
	}
	l := lookOf(r)
	a := slide.At(k)
	at := viewOf(pan).Map(a.Place.At)
	out := slideReply{K: k, X: at.X, Y: at.Y, Loose: a.Loose, Where: l.Length(a.Place.S) + " along its seat line"}
	if a.Loose == "" {
		out.Gap, out.GapText, out.GapCase, out.Line = a.GapMax, l.Length(a.GapMax), a.GapCase, a.Line
		for i, f := range a.Wire {
			share := -1.0
			if c := checkOf(pan.Stations[i].Checks, checkWire); c != nil && c.Limit > 0 {
				share = f / c.Limit
			}
			out.Wire, out.Share = append(out.Wire, l.Figure(f, "N")), append(out.Share, share)
		}
	}
	return writeJSON(w, out)
}

// slideAsked finds the panel, the station and its slide of a request about sliding.
func (s *server) slideAsked(r *http.Request) (*setout.Panel, int, *panelwright.Slide, error) {
	rev, err := s.asked(r)
	if err != nil {
		return nil, 0, nil, err
	}
	station, err := strconv.Atoi(r.FormValue("station"))
	e, ready := s.panels.of(r.Context(), rev, r.PathValue("panel"))
	if ready && (errors.Is(e.err, errBusy) || errors.Is(e.err, context.Canceled)) {
		return nil, 0, nil, e.refusal(ready)
	}
	if err != nil || !ready || e.plan == nil || station < 0 || station >= len(e.plan.Panels[0].Stations) || e.plan.Panels[0].Bearing == nil {
		return nil, 0, nil, refuse(http.StatusNotFound, "No such station", "Reload the page: the plan has changed.")
	}
	slide, err := e.slide(station)
	if err != nil {
		return nil, 0, nil, refuse(http.StatusUnprocessableEntity, "Not to be slid", "%s.", err)
	}
	return e.plan.Panels[0], station, slide, nil
}

// asked is the revision that a request names (rev), which must be the present one.
func (s *server) asked(r *http.Request) (Revision, error) {
	rev, err := s.present(r)
	if err != nil {
		return rev, err
	}
	if n, err := strconv.Atoi(r.FormValue("rev")); err != nil || n != rev.Number {
		return rev, refuse(http.StatusConflict, "Changed meanwhile", "The page was made from revision %s, and the vehicle is at revision %d. Reload the page.", fmt.Sprintf("%.8s", r.FormValue("rev")), rev.Number)
	}
	return rev, nil
}
