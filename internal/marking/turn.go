package marking

import (
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// turnPanel is the panel as it lies in other coordinates: everything that is drawn at full size is carried along, what is not
// is shared. Lengths along the outline, and so tape distances along edges, stay what they are. t must be a rotation with a
// shift, without mirror.
func turnPanel(p *setout.Panel, t plane.Transform, angle float64) *setout.Panel {
	jp := *p.Job
	jp.Outline.Outer = p.Job.Outline.Outer.Transform(t)
	jp.Outline.CutOuts = nil
	for _, c := range p.Job.Outline.CutOuts {
		jp.Outline.CutOuts = append(jp.Outline.CutOuts, c.Transform(t))
	}
	jp.KeepOuts = nil
	for _, k := range p.Job.KeepOuts {
		k.Region = k.Region.Transform(t)
		jp.KeepOuts = append(jp.KeepOuts, k)
	}
	out := *p
	out.Job = &jp
	out.SeatLines = nil
	for _, s := range p.SeatLines {
		s.Path = s.Path.Transform(t)
		out.SeatLines = append(out.SeatLines, s)
	}
	out.Stations = nil
	for _, st := range p.Stations {
		turned := *st
		turned.At, turned.Dir = t.Apply(st.At), st.Dir+angle
		out.Stations = append(out.Stations, &turned)
	}
	out.Holes = nil
	for _, h := range p.Holes {
		h.At, h.Dir = t.Apply(h.At), h.Dir+angle
		out.Holes = append(out.Holes, h)
	}
	return &out
}

// onlyStations is the panel with those stations and their holes alone that keep names.
func onlyStations(p *setout.Panel, keep map[string]bool) *setout.Panel {
	out := *p
	out.Stations, out.Holes = nil, nil
	for _, st := range p.Stations {
		if keep[st.ID] {
			out.Stations = append(out.Stations, st)
		}
	}
	for _, h := range p.Holes {
		if keep[h.Station] {
			out.Holes = append(out.Holes, h)
		}
	}
	return &out
}
