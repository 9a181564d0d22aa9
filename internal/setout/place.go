package setout

import (
	"fmt"
	"math"
	"sort"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
)

// NewPlan starts the plan of a job without faults: one panel for each of the job's, nothing decided. The steps then run in
// this order; each replaces what it decided before, so Place and Pick can run again:
//
//	again: Place(p); Load(p); Pick(p)
//	       if Again(p) goto again // the caller bounds how often
//	       Holes(p); Checks(p)
//	       if Refuse(p) goto again // bounds itself
//	Order(p); Finish(p); Judge(p)
//
// The job is not modified and must not change while the plan is in use: the plan points into it.
func NewPlan(j *job.Job) *Plan {
	p := &Plan{Job: j}
	for _, jp := range j.Panels {
		p.Panels = append(p.Panels, &Panel{Job: jp})
	}
	return p
}

// Place sets every panel's seat lines and stations: corners first, then evenly along each seat line within the greatest
// pitch, clear of edges, cut-outs and keep-outs by what the parts need; given stations as given. Parts are those of the last
// Pick, before the first one the smallest of the range. What has no room is a sentence in Panel.Faults. Stations come out
// numbered along the seat lines, from the first edge's first corner, ribs last, without stacks and choices.
func Place(p *Plan) {
	for _, pan := range p.Panels {
		pan.Stations, pan.Choices, pan.placeFaults, pan.countNote = nil, nil, nil, ""
		pan.placedFor = placeFeet(p, pan)
		runs, faults, notes := placeLines(pan, pan.placedFor)
		pan.placeFaults = append(pan.placeFaults, faults...)
		b := &placeBoard{pan: pan, feet: pan.placedFor, runs: runs}
		b.limits()
		if pan.Job.Stations.Mode == "given" {
			b.given()
		} else {
			b.layOut()
		}
		for _, n := range append(notes, b.notes...) {
			p.note(n)
		}
		b.number()
		b.counted()
		pan.placeFaults = placeUnique(append(pan.placeFaults, b.faults...))
		pan.setFaults()
	}
}

// Again says whether the parts just picked need more room than the places were made for: the reason, and whether Place and
// Pick should run once more. It remembers the larger room; room only grows, so the rounds come to an end.
func Again(p *Plan) (reason string, again bool) {
	for _, pan := range p.Panels {
		for _, sup := range pan.Job.Supports {
			for _, c := range pan.Choices {
				if !pickServes(pan, c, sup) {
					continue
				}
				f := placeFootOf(&pan.Job.Limits, c.Plate, c.Receptacle, c.PlateRivet, c.ReceptacleRivet)
				why, grows := placeGrow(f, pan.placedFor[sup])
				if !grows {
					continue
				}
				if old, ok := pan.feet[sup]; ok {
					f = placeJoinFeet(f, old)
				}
				if pan.feet == nil {
					pan.feet = map[*job.Support]placeFoot{}
				}
				pan.feet[sup] = f
				if !again {
					reason, again = fmt.Sprintf("%s, %s: %s", pan.Job.Name, sup.Name, why), true
				}
			}
		}
	}
	return reason, again
}

// note adds a line to the history, once.
func (p *Plan) note(s string) {
	for _, h := range p.History {
		if h == s {
			return
		}
	}
	p.History = append(p.History, s)
}

// setFaults joins what placing and picking found.
func (pan *Panel) setFaults() {
	pan.Faults = append(append([]string(nil), pan.placeFaults...), pan.pickFaults...)
}

// placeBoard is one panel while its stations are set out.
type placeBoard struct {
	pan           *Panel
	feet          map[*job.Support]placeFoot
	runs          []placeRun
	pitchMin      float64
	pitchMax      float64 // +Inf: no limit
	spots         []placeSpot
	faults, notes []string
	pitchMaxIs    string // words for messages
}

// placeSpot is a station before it has a number.
type placeSpot struct {
	run     int
	s       float64
	at      plane.Point
	dir     float64
	corner  bool
	given   *job.GivenStation
	support *job.Support
	order   float64 // given stations keep their order by this
}

// limits finds the least and greatest pitch that count.
func (b *placeBoard) limits() {
	l := &b.pan.Job.Limits
	b.pitchMin = l.PitchMin.Value
	for _, f := range b.feet {
		b.pitchMin = math.Max(b.pitchMin, f.length)
	}
	b.pitchMax, b.pitchMaxIs = l.PitchMax.Value, "the greatest pitch"
	if b.pan.Job.Stations.Mode == "pitch" && b.pan.Job.Stations.Pitch > 0 {
		b.pitchMax, b.pitchMaxIs = b.pan.Job.Stations.Pitch, "the pitch asked for"
	}
	if b.pitchMax <= 0 {
		b.pitchMax = math.Inf(1)
	}
	if b.pitchMax < b.pitchMin {
		b.faults = append(b.faults, fmt.Sprintf("%s, %s, is less than the least, %s, that the limits and the parts' length allow",
			b.pitchMaxIs, measure.MM(b.pitchMax), measure.MM(b.pitchMin)))
		b.pitchMax = b.pitchMin
	}
}

// given keeps the stations as they are given, and says which do not stand on a support.
func (b *placeBoard) given() {
	list := b.pan.Job.Stations.Given
	for i := range list {
		g := &list[i]
		s := placeSpot{at: g.At, given: g, order: float64(i), run: -1}
		best := math.Inf(1)
		for k := range b.runs {
			for n, l := range b.runs[k].lines {
				if t, d, _ := l.Path.Nearest(g.At); d < best-placeSame {
					best = d
					s.run, s.s, s.support = k, b.runs[k].start[n]+t, l.Support
					v := l.Path.Tangent(t)
					s.dir = math.Atan2(v.Y, v.X)
				}
			}
		}
		name := g.ID
		if name == "" {
			name = fmt.Sprintf("given as number %d", i+1)
		}
		switch {
		case s.support == nil:
			b.faults = append(b.faults, fmt.Sprintf("station %s: the panel has no support", name))
		case s.support.Width > 0 && best > s.support.Width/2+placeSame:
			b.faults = append(b.faults, fmt.Sprintf("station %s stands %s from the middle of %s, which is only %s wide: no support there; move it %s",
				name, measure.MM(best), s.support.Name, measure.MM(s.support.Width), measure.MM(best-s.support.Width/2)))
		}
		if f, ok := b.feet[s.support]; ok {
			s.dir = placeBestDir(b.pan.Job, f, s.at, s.dir)
		}
		b.spots = append(b.spots, s)
	}
}

// placeBestDir returns the direction of the rivet line: along, or if that has no room, across, or aslant; along where none
// has.
func placeBestDir(pan *job.Panel, f placeFoot, at plane.Point, along float64) float64 {
	for _, turn := range [...]float64{0, math.Pi / 2, math.Pi / 4, -math.Pi / 4} {
		if short, _ := placeRoom(pan, f, at, along+turn); short == 0 {
			return along + turn
		}
	}
	return along
}

// number sorts the spots along the seat lines and makes them stations.
func (b *placeBoard) number() {
	if b.pan.Job.Stations.Mode != "given" {
		sort.SliceStable(b.spots, func(i, k int) bool {
			p, q := &b.spots[i], &b.spots[k]
			lp, sp := b.runs[p.run].where(p.s)
			lq, sq := b.runs[q.run].where(q.s)
			np, nq := b.runs[p.run].at[lp], b.runs[q.run].at[lq]
			if np != nq {
				return np < nq
			}
			return sp < sq
		})
	}
	taken := map[string]bool{}
	for _, s := range b.spots {
		if s.given != nil && s.given.ID != "" {
			taken[s.given.ID] = true
		}
	}
	next := 1
	for _, s := range b.spots {
		st := &Station{At: s.at, Dir: s.dir, Corner: s.corner, Support: s.support, Given: s.given != nil}
		if s.given != nil {
			st.ID = s.given.ID
		}
		if st.ID == "" {
			for taken[fmt.Sprint(next)] {
				next++
			}
			st.ID = fmt.Sprint(next)
			next++
		}
		st.EdgeDistance = b.pan.Job.Outline.Distance(s.at)
		edge := ""
		switch {
		case s.given != nil && s.given.Edge != "":
			edge = s.given.Edge
		case s.run >= 0:
			i, _ := b.runs[s.run].where(s.s)
			edge = b.runs[s.run].lines[i].Edge
		}
		placeTape(b.pan.Job, st, edge)
		b.pan.Stations = append(b.pan.Stations, st)
	}
}

// placeTape finds the station by tape: along an edge from its first corner to the foot of the perpendicular, and from there
// inwards. The edge is the one named unless the perpendicular's foot falls off it; then the nearest edge that it falls on. Where
// there is none, Tape is longer than its edge.
func placeTape(pan *job.Panel, st *Station, edge string) {
	found := false
	for pass := 0; pass < 2 && !found; pass++ {
		for _, e := range pan.Edges {
			if pass == 0 && e.Name != edge || e.To-e.From <= placeSame {
				continue
			}
			side := pan.Outline.Outer.SubPath(e.From, e.To)
			s, d, foot := side.Nearest(st.At)
			square := math.Abs(st.At.Sub(foot).Dot(side.Tangent(s))) <= 1e-6*math.Max(1, d)
			if square && (!found || d < st.TapeInset-placeSame) {
				st.Edge, st.Tape, st.TapeInset, found = e.Name, s, d, true
			}
		}
	}
	if found {
		return
	}
	// No edge has a perpendicular to it, as in a reflex corner: the tape goes straight on past the end of the edge that ends
	// nearest to it.
	best := math.Inf(1)
	for _, e := range pan.Edges {
		if e.To-e.From <= placeSame {
			continue
		}
		side := pan.Outline.Outer.SubPath(e.From, e.To)
		n := side.Length()
		end, on := side.At(n), side.Seg(side.EdgeCount()-1).Tangent(1)
		v := st.At.Sub(end)
		if d := v.Len(); d < best-placeSame && v.Dot(on) >= 0 {
			best = d
			st.Edge, st.Tape, st.TapeInset = e.Name, n+v.Dot(on), on.Cross(v)
		}
	}
}
