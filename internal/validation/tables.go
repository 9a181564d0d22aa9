package validation

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

const (
	roark     = "Roark's Formulas for Stress and Strain, table 11.4"
	macNeal   = "MacNeal & Harder, Finite Elem. Anal. Des. 1 (1985) 3–20, as a public benchmark list prints it"
	smoothed  = "moments are smoothed over the triangles round a node"
	onEdge    = "on an edge moments are of first order"
	threeFigs = "the source has three figures"
)

// list gathers rows.
type list []Row

func (l *list) add(what, source, status string, want, got, allow float64, why string) {
	*l = append(*l, Row{What: what, Source: source, Status: status, Expected: want, Got: got, Allow: allow, Reason: why})
}

// unit puts a unit to the last row.
func (l list) unit(u string) { l[len(l)-1].Unit = u }

// longer are the other lines of the tables of rectangles, from nearly square to nearly a strip, and the same by other lists.
func longer() []Row {
	var out list
	for _, c := range []struct{ b, w, mx, my float64 }{{1.1, 0.004869, 0.055485, 0.049318}, {1.4, 0.007085, 0.075549, 0.050222}, {1.8, 0.009316, 0.094847, 0.047880}, {4, 0.012819, 0.123459, 0.038415}} {
		s := quarter(1, c.b, 32, 0.3, false, "x", even)
		what := fmt.Sprintf("rectangle b/a = %g, simply supported, even load", c.b)
		out.add(what+": w/(q·a⁴/D)", levy, Computed, c.w, s.w(0.5, c.b/2), 0.001, mesh32)
		out.add(what+": Mx/(q·a²)", levy, Computed, c.mx, s.moment(0.5, c.b/2, 0), 0.005, smoothed)
		out.add(what+": My/(q·a²)", levy, Computed, c.my, s.moment(0.5, c.b/2, 1), 0.005, smoothed)
	}
	for _, c := range []struct{ b, w, mx, my, short float64 }{{1.2, 0.001725, 0.02997, 0.02284, -0.05542}, {1.6, 0.002300, 0.03818, 0.01925, -0.05710}, {3, 0.002617, 0.04190, 0.01269, -0.05689}} {
		s := quarter(1, c.b, 32, 0.3, true, "x", even)
		what := fmt.Sprintf("rectangle b/a = %g, clamped, even load", c.b)
		out.add(what+": w/(q·a⁴/D)", clampedBy, Computed, c.w, s.w(0.5, c.b/2), 0.004, mesh32)
		out.add(what+": Mx/(q·a²)", clampedBy, Computed, c.mx, s.moment(0.5, c.b/2, 0), 0.01, smoothed)
		out.add(what+": My/(q·a²)", clampedBy, Computed, c.my, s.moment(0.5, c.b/2, 1), 0.01, smoothed)
		out.add(what+": M at the middle of the short edge /(q·a²)", clampedBy, Computed, c.short, s.moment(0.5, 0, 1), 0.05, onEdge)
	}
	s := quarter(1, 5, 16, 0.3, true, "x", even)
	out.add("rectangle b/a = 5, clamped, even load: w/(q·a⁴/D); the original list misprints it", macNeal, Seen, 0.002604, s.w(0.5, 2.5), 0.006, "mesh of 16 cells to the half side")
	for _, c := range []struct{ ratio, alpha float64 }{{1.2, 0.1478}, {1.4, 0.1621}, {1.6, 0.1715}, {2, 0.1805}} {
		s := quarter(1, c.ratio, 48, 0.3, false, "x", centred)
		out.add(fmt.Sprintf("rectangle b/a = %g, simply supported, force on a small circle in the middle: w·E·t³/(P·a²)", c.ratio), roark+", case 1b", Seen, c.alpha, 12*0.91*s.w(0.5, c.ratio/2), 0.003,
			"the table has four figures; a point for the circle")
	}
	for _, c := range []struct {
		clamped bool
		q, p    float64
	}{{false, 4.062, 11.60}, {true, 1.26, 5.60}} {
		edge := map[bool]string{false: "simply supported", true: "clamped"}[c.clamped]
		sheet := plate.Sheet(1.7472e7, 0.3, 1e-4, 1)
		w := func(l plate.Load) float64 {
			m := mesh.Grid(1, 1, 32, 32, "x")
			l.Points = append([]plate.PointLoad(nil), l.Points...)
			for i := range l.Points {
				l.Points[i].Node = int32(len(m.Nodes) - 1)
			}
			f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
				ex, ey := at(p.X, 0), at(p.Y, 0)
				return ex || ey, ex || c.clamped && ey || at(p.Y, 1), ey || c.clamped && ex || at(p.X, 1)
			})
			return solve(&plate.Model{Mesh: m, Sections: []plate.Section{sheet}, Fixed: f}, l).w(1, 1)
		}
		what := "sheet of 2 × 2, 0.0001 thick, with shear, " + edge
		const why = "32 cells to the half side; the list has three figures"
		out.add(what+", even load: w in the middle", macNeal, Seen, c.q, w(plate.Load{Pressure: 1e-4}), 0.006, why)
		out.add(what+", force in the middle: w there", macNeal, Seen, c.p, w(plate.Load{Points: []plate.PointLoad{{Force: 1e-4}}}), 0.006, why)
	}
	return out
}

// fasteners are sheets with free edges on single points: more points, longer sheets, other ν, and how they swing.
func fasteners() []Row {
	var out list
	const n = 64
	corner := func(p plane.Point) bool { return at(p.X, 0) && at(p.Y, 0) }
	s := pointed(1, 1, n, 0.33, corner)
	out.add("square held at its corners, ν = 0.33: w in the middle /(q·a⁴/D)", ritz, Computed, 0.025468, s.w(0.5, 0.5), 0.003, "64 cells to the half side; point supports converge slowly")
	out.add("square held at its corners, ν = 0.33: w in the middle of an edge", ritz, Computed, 0.017977, s.w(0.5, 0), 0.004, "64 cells to the half side; point supports converge slowly")
	for _, c := range []struct{ b, short, mx, my float64 }{{1.5, 0.02156, 0.0980, 0.2690}, {2, 0.02596, 0.0855, 0.4893}} {
		s := pointed(1, c.b, n, 0.3, corner)
		what := fmt.Sprintf("rectangle b/a = %g held at its corners", c.b)
		out.add(what+": w in the middle of the short edge", ritz, Computed, c.short, s.w(0.5, 0), 0.004, "64 cells to the half side; point supports converge slowly")
		out.add(what+": Mx in the middle /(q·a²)", ritz, Computed, c.mx, s.moment(0.5, c.b/2, 0), 0.01, threeFigs)
		out.add(what+": My in the middle /(q·a²)", ritz, Computed, c.my, s.moment(0.5, c.b/2, 1), 0.005, threeFigs)
	}
	const more = "Ritz n = 16 … 28, extrapolated; no published source"
	eight := func(p plane.Point) bool {
		return corner(p) || at(p.X, 0.5) && at(p.Y, 0) || at(p.X, 0) && at(p.Y, 0.5)
	}
	s = pointed(1, 1, n, 0.3, eight)
	out.add("square on 8 points: M in the middle /(q·a²)", more, Computed, 0.0497, s.moment(0.5, 0.5, 0), 0.01, threeFigs)
	twelve := func(p plane.Point) bool {
		return corner(p) || at(p.X, 1.0/3) && at(p.Y, 0) || at(p.X, 0) && at(p.Y, 1.0/3)
	}
	s = pointed(1, 1, 60, 0.3, twelve)
	out.add("square on 12 points: w in the middle /(q·a⁴/D)", more, Computed, 0.00426, s.w(0.5, 0.5), 0.007, "the source is good to 0.5 %")
	out.add("square on 12 points: M in the middle /(q·a²)", more, Computed, 0.0484, s.moment(0.5, 0.5, 0), 0.01, threeFigs)
	out.add("square on 12 points: force at a third /(q·a²)", more, Computed, 0.1336, s.reactions()[node(s.m, plane.Point{X: 1.0 / 3})], 0.005, "the corner's small force is good to 0.001")
	six := func(p plane.Point) bool { return at(p.X, 0) && (at(p.Y, 0) || at(p.Y, 0.75)) }
	s = pointed(1, 1.5, n, 0.3, six)
	f := s.reactions()
	const good = "the last digit of the source is good to 2"
	out.add("rectangle b/a = 1.5 on 6 points, corners and middles of the long sides: w in the middle /(q·a⁴/D)", more, Computed, 0.01528, s.w(0.5, 0.75), 0.006, good)
	out.add("the same: force at a corner /(q·a²)", more, Computed, 0.1654, f[node(s.m, plane.Point{})], 0.006, good)
	out.add("the same: force at the middle of a long side /(q·a²)", more, Computed, 0.4193, 2*f[node(s.m, plane.Point{Y: 0.75})], 0.004, good)
	whole := func(on func(p plane.Point) bool, a, b float64) hold {
		return func(p plane.Point) (w, tx, ty bool) {
			return on(plane.Point{X: math.Min(p.X, a-p.X), Y: math.Min(p.Y, b-p.Y)}), false, false
		}
	}
	const swings = "point supports converge slowly; the source has four figures"
	out.add("square on 8 points: lowest frequency", more, Computed, 17.83, swing(1, 1, 48, 48, 0.3, whole(eight, 1, 1), 1)[0], 0.005, swings)
	out.add("square on 12 points: lowest frequency", more, Computed, 19.24, swing(1, 1, 48, 48, 0.3, whole(twelve, 1, 1), 1)[0], 0.005, swings)
	out.add("rectangle b/a = 1.5 on 6 points: lowest frequency", more, Computed, 8.96, swing(1, 1.5, 40, 60, 0.3, whole(six, 1, 1.5), 1)[0], 0.005, "the source has three figures")
	return out
}

// swing gives the n lowest ω·√(ρ·t/D) of a rectangle.
func swing(a, b float64, nx, ny int, nu float64, h hold, n int) []float64 {
	m := mesh.Grid(a, b, nx, ny, "x")
	out := make([]float64, n)
	for i, mode := range modesOf(&plate.Model{Mesh: m, Sections: []plate.Section{unit(nu)}, Fixed: fixed(m, h)}, nil, n) {
		out[i] = mode.Omega
	}
	return out
}

// modesOf gives the n lowest modes of a model, with consistent mass.
func modesOf(model *plate.Model, springs []float64, n int) []plate.Mode {
	s, err := plate.Assemble(model)
	if err != nil {
		panic("validation: " + err.Error())
	}
	modes, err := s.Modes(springs, n, false)
	if err != nil {
		panic("validation: " + err.Error())
	}
	return modes
}

// bays are endless sheets on points once more: moments, between points and in bays that are not square.
func bays() []Row {
	const source = timoshenko + ", sec. 54; by lattice sums"
	var out list
	// A bay with the line between two points in its middle, so that moments there are those of the inside.
	const n = 64
	m := mesh.Grid(1, 1, n, n, "x")
	f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
		left, level := at(p.X, 0) || at(p.X, 1), at(p.Y, 0) || at(p.Y, 1)
		return left && at(p.Y, 0.5), level, left
	})
	s := solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(0.3)}, Fixed: f}, plate.Load{Pressure: 1})
	out.add("endless sheet on a square grid of points, midway between neighbours: M along their line /(q·a²)", source, Computed, 0.0484, s.moment(0.5, 0.5, 0), 0.006, threeFigs)
	out.add("the same: M across the line", source, Computed, -0.0126, s.moment(0.5, 0.5, 1), 0.02, "the source has three figures; small beside the other")
	for _, c := range []struct{ ratio, mx, my float64 }{{1.2, 0.02099, 0.03627}, {1.5, 0.01303, 0.03924}, {2, 0.00926, 0.04110}} {
		s := pointedBay(1/c.ratio, 1, 48, 0.2)
		what := fmt.Sprintf("endless sheet on points, bays of b/a = %g, ν = 0.2", c.ratio)
		out.add(what+": M across, middle of a bay /(q·b²)", source, Computed, c.mx, s.moment(0.5/c.ratio, 0.5, 0), 0.01, "smoothed; the source has three to four figures")
		out.add(what+": M along, middle of a bay /(q·b²)", source, Computed, c.my, s.moment(0.5/c.ratio, 0.5, 1), 0.01, "smoothed; the source has four figures")
	}
	return out
}

// rims are moments at the rim of clamped discs.
func rims() []Row {
	const source = timoshenko + ", ch. 3; from the plate equation"
	var out list
	for _, point := range []bool{false, true} {
		s := disc(true, point, 0.3)
		sum := 0.0
		for _, e := range s.m.Border {
			p := s.m.Nodes[e.From]
			c, n := p.X/discR, p.Y/discR
			x, y, xy := s.momentAt(e.From, 0), s.momentAt(e.From, 1), s.momentAt(e.From, 2)
			sum += (c*c*x + n*n*y + 2*c*n*xy) / float64(len(s.m.Border))
		}
		if point {
			out.add("disc, clamped, force at the middle: M across the rim /P", source, Closed, -1/(4*math.Pi), sum, 0.04, onEdge+"; mean of the rim's nodes")
		} else {
			out.add("disc, clamped, even load: M across the rim /(q·a²)", source, Closed, -0.125, sum/(discR*discR), 0.04, onEdge+"; mean of the rim's nodes")
		}
	}
	return out
}
