package jig

import (
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/sheet"
	"panelwright/internal/solid"
)

// Part is one thing to print, with the volume that its regions' areas and heights give (mm³).
type Part struct {
	Name  string
	Slabs []solid.Slab
}

// Volume is by the closed forms of lines and arcs: areas times heights.
func (p Part) Volume() (v float64) {
	for _, s := range p.Slabs {
		for _, r := range s.Regions {
			v += r.Area() * (s.To - s.From)
		}
	}
	return v
}

// Parts are what is printed, each as it lies on the bed: the plate with its outer face down and its fence up, the insert that guides
// the pilot (two for a row), the pin that stands in the opened hole.
func (j *Jig) Parts() ([]Part, error) {
	plate, err := j.platePart()
	if err != nil {
		return nil, err
	}
	out := []Part{plate}
	if !j.pin {
		return out, nil
	}
	h := j.Holes[j.Centre]
	const head = 3.0 // of the collars, thick
	disc := func(d float64, bore float64) plane.Region {
		r := plane.Region{Outer: plane.CircleAt(plane.Point{}, d/2)}
		if bore > 0 {
			r.CutOuts = []plane.Path{plane.CircleAt(plane.Point{}, bore/2).Reverse()}
		}
		return r
	}
	outside := h.Seat - j.slide()
	bore := h.Drill + guide
	if h.Bush != nil && h.Bush.Outside+j.Clear+2*insertWall <= outside {
		bore = h.Bush.Outside + j.Clear
	}
	insert := []solid.Slab{
		{From: 0, To: head, Regions: []plane.Region{disc(outside+8, bore)}},
		{From: head, To: head + j.Thick, Regions: []plane.Region{disc(outside, bore)}},
	}
	out = append(out, Part{Name: j.Name + " insert", Slabs: insert})
	if j.Pitch > 0 { // one for the station before
		out = append(out, Part{Name: j.Name + " insert 2", Slabs: insert})
	}
	low := h.Opened - j.slide()
	deep := math.Max(j.Outer, 1)
	slabs := []solid.Slab{
		{From: 0, To: head, Regions: []plane.Region{disc(outside+8, 0)}},
		{From: head, To: head + j.Thick, Regions: []plane.Region{disc(outside, 0)}},
		{From: head + j.Thick, To: head + j.Thick + deep, Regions: []plane.Region{disc(low, 0)}},
	}
	if math.Abs(low-outside) < 0.01 { // one diameter: one cylinder
		slabs[1].To, slabs = slabs[2].To, slabs[:2]
	}
	return append(out, Part{Name: j.Name + " pin", Slabs: slabs}), nil
}

// platePart is the plate, turned over about x so that its outer face, with the identity, lies on the bed.
func (j *Jig) platePart() (Part, error) {
	over := plane.Mirror(plane.Point{}, plane.Point{X: 1}) // half a turn about x, seen from above
	base := plane.Region{Outer: j.Plate}
	for _, h := range j.Holes {
		base.CutOuts = append(base.CutOuts, plane.CircleAt(h.At, h.Seat/2))
	}
	text, err := j.textRegions()
	if err != nil {
		return Part{}, err
	}
	top := plane.Region{Outer: base.Outer, CutOuts: append([]plane.Path{}, base.CutOuts...)}
	var islands []plane.Region
	for _, t := range text {
		top.CutOuts = append(top.CutOuts, t.Outer)
		for _, c := range t.CutOuts {
			islands = append(islands, plane.Region{Outer: c})
		}
	}
	turned := func(rs ...plane.Region) (out []plane.Region) {
		for _, r := range rs {
			out = append(out, r.Transform(over).Normalise())
		}
		return out
	}
	deep := min(engraved, j.Thick/3)
	slabs := []solid.Slab{
		{From: 0, To: deep, Regions: turned(append([]plane.Region{top}, islands...)...)},
		{From: deep, To: j.Thick, Regions: turned(base)},
	}
	if f := j.fenceRegions(); len(f) > 0 {
		slabs = append(slabs, solid.Slab{From: j.Thick, To: j.Thick + j.Reach, Regions: turned(f...)})
	}
	return Part{Name: j.Name + " plate", Slabs: slabs}, nil
}

// fenceRegions is the fence in plan: its inner face is the panel's edge.
func (j *Jig) fenceRegions() []plane.Region {
	f := j.Fence
	var out []plane.Region
	for _, p := range f.Pins {
		out = append(out, plane.Region{Outer: plane.CircleAt(p, f.PinR)})
	}
	if len(f.Pins) == 0 && f.Distance > 0 {
		bar := plane.Rectangle(2*f.Half, fenceWide).Transform(plane.Move(plane.Point{X: -f.Half, Y: -f.Distance - fenceWide}))
		out = append(out, plane.Region{Outer: bar})
	}
	return out
}

// textRegions are the identity's letters, each with the holes within it.
func (j *Jig) textRegions() ([]plane.Region, error) {
	var out []plane.Region
	lines := j.identity()
	for i, l := range lines {
		at := plane.Point{X: j.textAt.X, Y: j.textAt.Y + float64(len(lines)-1-i)*letters*1.15}
		paths, err := sheet.TextPaths(sheet.Text{At: plane.Point{}, S: l, Size: letters, Font: sheet.Bold})
		if err != nil {
			return nil, err
		}
		var holes []plane.Path
		first := len(out)
		for _, p := range paths {
			// y upwards: outlines keep their sense by being turned round as well.
			q := plane.Path{Closed: true}
			for _, v := range p.V {
				q.V = append(q.V, plane.Vertex{Point: plane.Point{X: at.X + v.X, Y: at.Y - v.Y}})
			}
			if p.Area() > 0 == letterSense() {
				out = append(out, plane.Region{Outer: q})
			} else {
				holes = append(holes, q)
			}
		}
		for _, h := range holes {
			for k := first; k < len(out); k++ {
				if out[k].Outer.Contains(h.V[0].Point) == plane.Inside {
					out[k].CutOuts = append(out[k].CutOuts, h)
					break
				}
			}
		}
	}
	return out, nil
}

// letterSense is the sign of the area of a letter's outer outline, as TextPaths gives it.
func letterSense() bool {
	p, err := sheet.TextPaths(sheet.Text{S: "I", Size: 10})
	return err == nil && p[0].Area() > 0
}

// Shells builds the parts, once.
func (j *Jig) Shells() ([]*solid.Shell, error) {
	j.build.Do(func() {
		var parts []Part
		if parts, j.shellErr = j.Parts(); j.shellErr != nil {
			return
		}
		for _, p := range parts {
			s, err := solid.Build(p.Name, p.Slabs)
			if err != nil {
				j.shells, j.shellErr = nil, err
				return
			}
			j.shells = append(j.shells, s)
		}
	})
	return j.shells, j.shellErr
}
