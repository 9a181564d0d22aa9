package drawing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// templateCircle is one circle on a template: a hole, or the rim of a countersink, in one or more layers.
type templateCircle struct {
	at       plane.Point
	diameter float64
	near     bool // in the layer that is seen: drawn full, else dashed
	sink     bool
}

// HoleDiameter is the diameter (mm) at which a hole is drawn everywhere: the drill's own where one was found.
func HoleDiameter(h setout.Hole) float64 {
	if h.Drill != nil {
		return h.Drill.Diameter
	}
	return h.Wanted
}

// templateOuter says whether a hole's layer is the outer panel.
func templateOuter(p *setout.Panel, layer string) bool {
	return layer == sectionLayerName(&p.Job.Outer, 0, 2)
}

// templateCircles returns the circles of a panel's holes, each once, those of the layers that are seen first: the outer panel,
// or from behind all others.
func templateCircles(p *setout.Panel, behind bool) []templateCircle {
	type key struct{ x, y, d int64 }
	// Circles nearer to each other than this print as one.
	const same = 0.02
	round := func(v float64) int64 { return int64(math.Round(v / same)) }
	at := map[key]int{}
	var out []templateCircle
	add := func(c templateCircle) {
		if !(c.diameter > 0) {
			return
		}
		k := key{round(c.at.X), round(c.at.Y), round(c.diameter)}
		if i, ok := at[k]; ok {
			out[i].near = out[i].near || c.near
			return
		}
		at[k] = len(out)
		out = append(out, c)
	}
	for _, h := range p.Holes {
		near := templateOuter(p, h.Layer) != behind
		add(templateCircle{h.At, HoleDiameter(h), near, false})
		if h.Countersink != nil {
			add(templateCircle{h.At, h.Countersink.Diameter, near, true})
		}
	}
	slices.SortStableFunc(out, func(a, b templateCircle) int {
		switch {
		case a.near && !b.near:
			return -1
		case b.near && !a.near:
			return 1
		}
		return 0
	})
	return out
}

// templateCentres returns the distinct centres of a panel's holes with the largest radius drawn around each, in the order
// of work.
func templateCentres(p *setout.Panel) []viewDisc {
	var out []viewDisc
	for _, h := range p.Holes {
		r := HoleDiameter(h) / 2
		if h.Countersink != nil {
			r = math.Max(r, h.Countersink.Diameter/2)
		}
		i := slices.IndexFunc(out, func(d viewDisc) bool { return d.at.Dist(h.At) < 0.02 })
		if i < 0 {
			out = append(out, viewDisc{h.At, r})
		} else {
			out[i].r = math.Max(out[i].r, r)
		}
	}
	return out
}

// CutOut is the outline of a cut-out that is not round, in panel coordinates.
func CutOut(h setout.Hole) plane.Path {
	along := plane.Point{X: h.Length / 2}.Rotate(h.Dir)
	across := plane.Point{Y: h.Width / 2}.Rotate(h.Dir)
	return plane.Polygon(h.At.Sub(along).Sub(across), h.At.Add(along).Sub(across), h.At.Add(along).Add(across), h.At.Sub(along).Add(across))
}

// templateFootprints are the outlines of what stands flat on the sheets at a station: the stud's plate and the receptacle's
// foot, in panel coordinates. Parts whose size the range does not state are left out.
func templateFootprints(st *setout.Station) []plane.Path {
	c := st.Choice
	if c == nil || c.Plate == nil || c.Receptacle == nil {
		return nil
	}
	var out []plane.Path
	if c.Plate.Face != stock.PlateNone && c.Plate.Length > 0 && c.Plate.Width > 0 {
		out = append(out, CutOut(setout.Hole{At: st.At, Dir: st.Dir, Length: c.Plate.Length, Width: c.Plate.Width}))
	}
	if c.Receptacle.Length > 0 && c.Receptacle.Width > 0 {
		out = append(out, CutOut(setout.Hole{At: st.At, Dir: st.Dir, Length: c.Receptacle.Length, Width: c.Receptacle.Width}))
	}
	return out
}

// templateSize names the drill of a hole, or what else makes it, or says that there is none.
func templateSize(h setout.Hole) string {
	switch {
	case h.Length > 0:
		return fmt.Sprintf("%s\u00a0×\u00a0%s\u00a0mm", viewTrim(h.Length, 1), viewTrim(h.Width, 1))
	case h.Drill == nil && h.NoDrill == "" && h.Tool != "":
		return "Ø\u00a0" + measure.Fixed(h.Wanted, 1) + "\u00a0mm, " + h.Tool
	}
	if h.Drill != nil {
		return strings.ReplaceAll(h.Drill.Name, " ", "\u00a0") // not broken between figure and unit
	}
	return "Ø\u00a0" + measure.Fixed(h.Wanted, 2) + "\u00a0mm, no drill for it"
}

// templatePurpose is the plural of a hole's purpose where there are several.
func templatePurpose(purpose string, n int) string {
	if n == 1 {
		return purpose
	}
	switch purpose {
	case "plate rivet", "receptacle rivet", "rivet tail countersink":
		return fmt.Sprintf("%d %ss", n, purpose)
	}
	return fmt.Sprintf("%d × %s", n, purpose)
}

// HoleLines says what is drilled at a station: a line per layer and purpose, "outer: centre 1/2 in", in the order of work, the
// layer that is seen first (from behind the outer panel is last); a pilot comes before all, once.
func HoleLines(p *setout.Panel, station string, behind bool) []string {
	type group struct {
		layer, purpose, size, sink string
		n                          int
	}
	var groups []group
	var lines, pilots []string
	for _, h := range p.Holes {
		if h.Station != station {
			continue
		}
		if h.Pilot != nil && !slices.Contains(pilots, h.Pilot.Name) {
			pilots = append(pilots, h.Pilot.Name)
		}
		g := group{layer: h.Layer, purpose: h.Purpose, size: templateSize(h)}
		if h.Operation {
			g.size = ""
		}
		if c := h.Countersink; c != nil {
			g.sink = fmt.Sprintf(", csk\u00a0%s° Ø\u00a0%s\u00a0%s", viewTrim(c.AngleDeg, 1), measure.Fixed(c.Diameter, 1), c.Face)
		}
		i := slices.IndexFunc(groups, func(o group) bool { o.n = 0; return o == g })
		if i < 0 {
			i = len(groups)
			groups = append(groups, g)
		}
		groups[i].n++
	}
	for _, s := range pilots {
		lines = append(lines, "pilot "+s)
	}
	slices.SortStableFunc(groups, func(a, b group) int {
		first := func(g group) int {
			if templateOuter(p, g.layer) != behind {
				return 0
			}
			return 1
		}
		return cmp.Compare(first(a), first(b))
	})
	for _, g := range groups {
		what := strings.TrimPrefix(g.sink, ", ") // an operation at a hole that another line makes has no size of its own
		if g.size != "" {
			what = g.size + g.sink
		}
		lines = append(lines, fmt.Sprintf("%s: %s %s", g.layer, templatePurpose(g.purpose, g.n), what))
	}
	return lines
}
