package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"panelwright/internal/fault"
	"panelwright/internal/plane"
	"panelwright/internal/source"
)

// Check reports every rule of meaning that joins several fields of a job, sorted: whether cut-outs, keep-outs, supports,
// masses and stations lie on their panel, whether names that point at something find it. Read calls it and adds its faults
// to its own; what could not be read is left out here, since Read has reported it. Values of single fields (signs, limits,
// units) are judged where they are read.
func (j *Job) Check() fault.List {
	f := &found{}
	for _, pan := range j.Panels {
		if len(pan.Outline.Outer.V) == 0 {
			if pan.at == nil {
				f.add(place{pan.Pos, "panel " + pan.Name}, RuleOutlineArea, "no outline; accepted: a closed path that encloses an area", "give the panel an outline")
			}
			continue
		}
		c := checker{found: f, j: j, pan: pan, gone: map[int]bool{}}
		c.front()
		c.cutOuts()
		c.keepOuts()
		c.supports()
		c.masses()
		c.stations()
		c.measured()
	}
	f.list.Sort()
	return f.list
}

// checker checks one panel.
type checker struct {
	*found
	j    *Job
	pan  *Panel
	gone map[int]bool // cut-outs with a fault of their own: the other rules leave them out
}

// edgeNames lists the edges in order.
func (pan *Panel) edgeNames() []string {
	var out []string
	for _, e := range pan.Edges {
		out = append(out, e.Name)
	}
	return out
}

// Edge finds an edge by its name.
func (pan *Panel) Edge(name string) (Edge, bool) {
	for _, e := range pan.Edges {
		if e.Name == name {
			return e, true
		}
	}
	return Edge{}, false
}

// Flange finds the support that runs along the edge, nil when there is none.
func (pan *Panel) Flange(edge string) *Support {
	for _, s := range pan.Supports {
		if s.Kind == "flange" && slices.Contains(s.Edges, edge) {
			return s
		}
	}
	return nil
}

// SeatInset is the distance of a flange's seat line from the outline: as given, or half its width.
func (s *Support) SeatInset() float64 {
	if s.Inset > 0 {
		return s.Inset
	}
	return s.Width / 2
}

func (c *checker) unknownEdge(at place, name string) bool {
	if _, ok := c.pan.Edge(name); ok {
		return false
	}
	c.add(at, RuleUnknownEdge, fmt.Sprintf("no edge %s on this panel", source.Quote(name)), source.Meant(name, c.pan.edgeNames()))
	return true
}

func (c *checker) front() {
	if c.pan.Front != "" {
		c.unknownEdge(c.pan.at.of("front"), c.pan.Front)
	}
}

func (c *checker) cutOutName(i int) string {
	if i < len(c.pan.CutOutNames) {
		return source.Cut(c.pan.CutOutNames[i])
	}
	return fmt.Sprintf("cut-out %d", i+1)
}

func (c *checker) cutOuts() {
	for _, k := range c.pan.Outline.CutOutFaults() {
		c.gone[k.CutOut] = true
		at := c.pan.at.of(fmt.Sprintf("cut-out %d", k.CutOut))
		name, where := c.cutOutName(k.CutOut), c.j.point(k.At)
		switch k.Kind {
		case plane.CutOutOutside:
			c.add(at, RuleCutOutOutside, fmt.Sprintf("%s lies outside the outline, at %s", name, where), "check its place, and where the outline's nought is")
		case plane.CutOutAround:
			c.add(at, RuleCutOutOutside, fmt.Sprintf("%s goes all round the outline", name), "check its size")
		case plane.CutOutMeets:
			c.add(at, RuleCutOutMeets, fmt.Sprintf("%s meets the outline at %s", name, where), "move it inwards, or draw it as part of the outline")
		case plane.CutOutOverlap:
			c.add(c.pan.at.of(fmt.Sprintf("cut-out %d", k.Other)), RuleCutOutOverlap, fmt.Sprintf("%s meets %s at %s", c.cutOutName(k.Other), name, where), "draw them as one")
		}
	}
}

func (c *checker) keepOuts() {
	outer := c.pan.Outline.Outer
	for i, k := range c.pan.KeepOuts {
		if len(k.Region.V) == 0 || len(k.Region.Meetings(outer)) > 0 {
			continue
		}
		if k.Region.Contains(outer.V[0].Point) == plane.Inside {
			c.add(c.pan.at.of(fmt.Sprintf("keep-out %d", i)), RuleKeepOutWhole, fmt.Sprintf("%s covers the whole panel: no station could stand anywhere", source.Cut(k.Name)), "check its size and its place")
			continue
		}
		if outer.Contains(k.Region.V[0].Point) == plane.Outside && k.Region.Contains(outer.V[0].Point) == plane.Outside {
			c.add(c.pan.at.of(fmt.Sprintf("keep-out %d", i)), RuleKeepOutOutside, fmt.Sprintf("%s lies outside the outline, at %s: it keeps nothing out", source.Cut(k.Name), c.j.point(k.Region.V[0].Point)), "check its place, and where the outline's nought is")
		}
	}
}

func (c *checker) masses() {
	for i, m := range c.pan.Loads.Masses {
		if c.pan.Outline.Outer.Contains(m.At) == plane.Outside {
			c.add(c.pan.at.of(fmt.Sprintf("mass %d", i)), RuleMassOutside, fmt.Sprintf("%s at %s lies off the panel", source.Cut(m.Name), c.j.point(m.At)), "give the place of its centre on the panel")
		}
	}
}

// stationApart is the least distance of two stations, mm: nearer ones are the same one, written twice.
const stationApart = 1

// crowd reports so many stations that no bench could use them: it bounds the work of every later step.
func (c *checker) crowd() {
	s := &c.pan.Stations
	pitch := c.pan.Limits.PitchMax.Value
	switch {
	case s.Mode == "pitch" && s.Pitch > 0:
		pitch = math.Min(pitch, s.Pitch)
	case s.Mode != "auto":
		return
	}
	length := 0.0
	for _, sup := range c.pan.Supports {
		length += sup.Line.Length()
		for _, name := range sup.Edges {
			if e, ok := c.pan.Edge(name); ok {
				length += e.To - e.From
			}
		}
	}
	if n := length / pitch; n > mostStations {
		at := c.pan.at.of("limits")
		if s.Mode == "pitch" {
			at = c.pan.at.of("stations")
		}
		c.add(at, RuleTooMany, fmt.Sprintf("%s of supports at a pitch of %s: about %.0f stations; accepted: at most %d", c.j.size(length), c.j.size(pitch), n, mostStations), "check the unit of the pitch and of the outline, or divide the panel")
	}
}

func (c *checker) stations() {
	c.crowd()
	given := c.pan.Stations.Given
	ids := map[string]bool{}
	for i := range given {
		g := &given[i]
		at := c.pan.at.of(fmt.Sprintf("station %d", i))
		if _, unread := c.pan.at[fmt.Sprintf("unread station %d", i)]; unread {
			continue
		}
		if g.ID != "" && ids[g.ID] {
			c.add(at, RuleStationTwice, fmt.Sprintf("a second station %s", source.Quote(g.ID)), "give it another id")
		}
		ids[g.ID] = true
		if g.Edge != "" && c.tape(at, g) {
			continue
		}
		if c.pan.Outline.Outer.Contains(g.At) == plane.Outside {
			c.add(at, RuleStationOutside, fmt.Sprintf("station at %s lies off the panel", c.j.point(g.At)), "check its place, and where the outline's nought is")
			continue
		}
		for k, h := range c.pan.Outline.CutOuts {
			if h.Contains(g.At) != plane.Outside {
				c.add(at, RuleStationCutOut, fmt.Sprintf("station at %s lies in %s", c.j.point(g.At), c.cutOutName(k)), "move it clear of the cut-out")
			}
		}
		for k := range i {
			_, unread := c.pan.at[fmt.Sprintf("unread station %d", k)]
			if d := given[k].At.Dist(g.At); !unread && d < stationApart {
				c.add(at, RuleStationTwice, fmt.Sprintf("station at %s, %s from station %s of the list", c.j.point(g.At), c.j.size(d), strconv.Itoa(k+1)), "delete one")
			}
		}
	}
}

// onTape is the place of a station given by edge and tape distance: so far along the edge from where it begins, then
// square to it onto the flange's seat line. False when there is no such edge, no flange on it, or it is too short.
func (pan *Panel) onTape(g *GivenStation) (plane.Point, bool) {
	e, ok := pan.Edge(g.Edge)
	s := pan.Flange(g.Edge)
	if !ok || s == nil || g.Tape > e.To-e.From || len(pan.Outline.Outer.V) == 0 {
		return plane.Point{}, false
	}
	foot := pan.Outline.Outer.At(e.From + g.Tape)
	return foot.Add(pan.Outline.Outer.Tangent(e.From + g.Tape).Perp().Scale(s.SeatInset())), true
}

// tape reports why a station has no place on its edge.
func (c *checker) tape(at place, g *GivenStation) bool {
	if c.unknownEdge(at, g.Edge) {
		return true
	}
	e, _ := c.pan.Edge(g.Edge)
	switch {
	case c.pan.Flange(g.Edge) == nil:
		c.add(at, RuleStationTape, fmt.Sprintf("a station along edge %s, which lies on no flange", source.Cut(g.Edge)), "give the edge a flange, or give the station's place with at")
	case g.Tape > e.To-e.From:
		c.add(at, RuleStationTape, fmt.Sprintf("%s along edge %s, which is %s long", c.j.size(g.Tape), source.Cut(g.Edge), c.j.size(e.To-e.From)), "measure from where the edge begins, going round anticlockwise")
	default:
		return false
	}
	return true
}

// measured checks that each measured stack has a station: one of the given ids, or a number where stations are numbered.
func (c *checker) measured() {
	s := &c.pan.Stations
	named, unnamed := []string{}, 0
	for _, g := range s.Given {
		if g.ID == "" {
			unnamed++
		} else {
			named = append(named, g.ID)
		}
	}
	most := mostStations
	switch s.Mode {
	case "count":
		most = s.Count
	case "given":
		most = unnamed
	}
	seen := map[string]bool{}
	for i, m := range c.pan.Measured {
		at := c.pan.at.of(fmt.Sprintf("measured %d", i))
		n, err := strconv.Atoi(m.Station)
		numbered := err == nil && n >= 1 && n <= most
		switch {
		case m.Station == "":
		case seen[m.Station]:
			c.add(at, RuleMeasuredTwice, fmt.Sprintf("a second measured stack at station %s", source.Cut(m.Station)), `put all readings of one station into one: "readings [6.1, 6.3] mm"`)
		case !slices.Contains(named, m.Station) && !numbered:
			hint := fmt.Sprintf("stations are numbered from 1 to %d here", most)
			if s.Mode == "given" {
				hint = source.Meant(m.Station, named)
			}
			c.add(at, RuleUnknownStation, fmt.Sprintf("no station %s on this panel", source.Quote(m.Station)), hint)
		}
		seen[m.Station] = true
	}
}
