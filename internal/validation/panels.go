package validation

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// worked is a panel of sheet aluminium in its own units: on a grid of fasteners, and how it swings.
func worked() []Row {
	const source = "6061, E 68.9 GPa, ν 0.33, 2700 kg/m³, 1.5 mm, by the coefficients above"
	var out list
	sheet := plate.Sheet(68900, 0.33, 1.5, 2.7e-9)
	const q = 600e-6
	m := mesh.Grid(75, 75, 48, 48, "x")
	s := solve(&plate.Model{Mesh: m, Sections: []plate.Section{sheet.Thin()}, Fixed: fixed(m, func(p plane.Point) (w, tx, ty bool) {
		return at(p.X, 0) && at(p.Y, 0), at(p.Y, 0) || at(p.Y, 75), at(p.X, 0) || at(p.X, 75)
	})}, plate.Load{Pressure: q})
	last := int32(len(m.Nodes) - 1)
	const why = "48 cells to the half bay; thin theory, as the source"
	out.add("sheet on a grid of fasteners every 150 mm, 600 Pa: w in the middle of a bay", source, Computed, 0.08102, s.f.W[last], 0.005, why)
	out.unit("mm")
	out.add("the same: stress in the middle of a bay", source, Computed, 1.3205, s.t.At(int(last), 0)[0], 0.005, why)
	out.unit("MPa")
	held := plate.NewCertifier(s.s.Model).Reactions(plate.Load{Pressure: q}, s.f)
	out.add("the same: force of a fastener", source, Closed, 13.5, -4*held[0], 1e-6, "pressure times area")
	out.unit("N")
	for _, c := range []struct {
		what string
		hz   float64
		held hold
		mode int
	}{
		{"simply supported", 29.119, func(p plane.Point) (w, tx, ty bool) {
			x, y := at(p.X, 0) || at(p.X, 500), at(p.Y, 0) || at(p.Y, 500)
			return x || y, x, y
		}, 0},
		{"clamped", 53.085, func(p plane.Point) (w, tx, ty bool) {
			e := at(p.X, 0) || at(p.X, 500) || at(p.Y, 0) || at(p.Y, 500)
			return e, e, e
		}, 0},
		{"on its corners", 10.478, func(p plane.Point) (w, tx, ty bool) {
			return (at(p.X, 0) || at(p.X, 500)) && (at(p.Y, 0) || at(p.Y, 500)), false, false
		}, 0},
		{"free", 19.467, func(plane.Point) (w, tx, ty bool) { return false, false, false }, 3},
	} {
		m := mesh.Grid(500, 500, 40, 40, "x")
		modes := modesOf(&plate.Model{Mesh: m, Sections: []plate.Section{sheet}, Fixed: fixed(m, c.held)}, nil, c.mode+1)
		out.add("sheet 500 × 500 × 1.5 mm, "+c.what+": lowest frequency", source, Computed, c.hz, modes[c.mode].Hz, 0.003, "40 cells to the side; shear and soft corners take 0.1 %")
		out.unit("Hz")
	}
	return out
}

// edges are sheets whose thickness tells at their edges: what thin plate theory does not have. Cells grow from 0.2 mm at the edge.
func edges() []Row {
	const ccx = "CalculiX 2.20, quadratic shells, 32 × 32, t/a = 0.008"
	var out list
	sheet := plate.Sheet(70000, 0.3, 8, 1)
	const n = 48
	m := mesh.Grid(1, 1, n, n, "x")
	for i, p := range m.Nodes {
		m.Nodes[i] = plane.Point{X: 500 * p.X * p.X, Y: 500 * p.Y * p.Y}
	}
	run := func(on func(p plane.Point) bool) float64 {
		f := fixed(m, func(p plane.Point) (w, tx, ty bool) { return on(p), at(p.Y, 500), at(p.X, 500) })
		return solve(&plate.Model{Mesh: m, Sections: []plate.Section{sheet}, Fixed: f}, plate.Load{Pressure: 1e-5}).w(500, 500) * sheet.D[0][0] / 1e-5 / 1e12
	}
	const why = "the layer along a soft edge is as wide as the sheet is thick and converges slowly; it adds 0.4 to 0.6 % in all"
	out.add("square of 8 mm on soft supports: w/(q·a⁴/D), 0.00406 where thin", ccx, Program, 0.00408855, run(func(p plane.Point) bool { return at(p.X, 0) || at(p.Y, 0) }), 0.003, why)
	out.add("square of 8 mm on its corners: w/(q·a⁴/D), 0.02551 where thin", ccx, Program, 0.02561943, run(func(p plane.Point) bool { return at(p.X, 0) && at(p.Y, 0) }), 0.003, why)
	// The sandwich again, on soft supports, and its faces.
	sandwich := plate.Sandwich(plate.Layer{E: 70000, Nu: 0.3, Thickness: 0.5, Density: 1}, plate.Layer{E: 78, Nu: 0.3, Thickness: 10, Density: 1}, 30)
	for _, hard := range []bool{true, false} {
		f := fixed(m, func(p plane.Point) (w, tx, ty bool) {
			ex, ey := at(p.X, 0), at(p.Y, 0)
			return ex || ey, hard && ex || at(p.Y, 500), hard && ey || at(p.X, 500)
		})
		s := solve(&plate.Model{Mesh: m, Sections: []plate.Section{sandwich}, Fixed: f}, plate.Load{Pressure: 1e-3})
		if hard {
			out.add("the sandwich on hard supports: stress of the outer fibre in the middle", "Navier's series, σ = E·z/(1−ν²)·M/D", Closed, 70000*5.5/0.91*47.8863783/2128937.73, s.t.At(len(m.Nodes)-1, 0)[0], 0.01, smoothed)
			out.unit("MPa")
			continue
		}
		out.add("the sandwich on soft supports: w in the middle, 11 % more than on hard ones", "CalculiX 2.20, layered solids, finest", Program, 2.36819, s.w(500, 500), 0.004, "soft edge layer; the solids still move by 0.1 %")
		out.unit("mm")
	}
	return out
}

// thinPanels are the panel of 1200 × 800 mm by thin theory and 2.5 mm thick, and the seats that let go one after the other.
func thinPanels() []Row {
	const bicubic = "bicubic rectangles of our own, outside the program (no peer)"
	var out list
	springs := []float64{150, 150, 150, 150, 150, 150, 150, 150}
	model, laws, m := flange(12, false, 20)
	model.Sections[0] = model.Sections[0].Thin()
	a, f := touchAll(model, laws, []plate.Load{{Pressure: 0.002}})
	const what = "panel 1200 × 800 × 12 mm on 8 springs, 2 kPa, thin theory"
	for _, r := range []struct {
		of, unit  string
		want, got float64
	}{
		{"w in the middle", "mm", 8.62461, f[0].W[node(m, plane.Point{X: 600, Y: 400})]},
		{"w in the middle of a long edge", "mm", 2.67028, f[0].W[node(m, plane.Point{X: 600})]},
		{"force at a corner", "N", 100.787, 150 * a[0].W[0]},
		{"force in the middle of a long side", "N", 477.029, 150 * a[0].W[1]},
		{"force in the middle of a short side", "N", 281.397, 150 * a[0].W[3]},
	} {
		out.add(what+": "+r.of, bicubic, Computed, r.want, r.got, 0.002, "60 × 40 cells, second order")
		out.unit(r.unit)
	}
	for i, mode := range modesOf(model, springs, 5) {
		out.add(fmt.Sprintf("the same: frequency %d", i+1), bicubic, Computed, []float64{21.5644, 32.0622, 40.6900, 44.5171, 60.8123}[i], mode.Hz, 0.002, "60 × 40 cells, second order")
		out.unit("Hz")
	}
	model, _, _ = flange(2.5, false, 20)
	for i, mode := range modesOf(model, springs, 5) {
		out.add(fmt.Sprintf("panel 1200 × 800 × 2.5 mm on 8 springs: frequency %d", i+1), "CalculiX 2.20, quadratic shells, h = 10 mm", Program, []float64{5.711963, 7.456064, 10.34436, 12.1866, 15.49538}[i], mode.Hz, 0.003, "thin theory gives 0.03–0.13 % more, 60 × 40 cells a little")
		out.unit("Hz")
	}
	return append(out, letsGo()...)
}

// letsGo is the thin panel on its flange: preload keeps seats shut, then those of the long sides open, then those of the short ones.
func letsGo() []Row {
	var out list
	for _, c := range []struct {
		thin           bool
		source, status string
		why            string
		allow          float64
		cases          []flangeCase
	}{
		{false, "CalculiX 2.20, nonlinear springs, small displacement, h = 20 mm", Program, "cells of 10 mm between pads 20 mm apart; the outside mesh moves by as much", 0.01,
			[]flangeCase{{50e-6, 7.40175, 20.1619, 48.7259, 37.5282}, {75e-6, 11.4662, 29.8643, 70.3473, 56.9689}, {100e-6, 16.0127, 40.5008, 90.4889, 72.9029}}},
		{true, "bicubic rectangles of our own with an active set, outside the program (no peer; h = 10 mm)", Computed, "cells of 10 mm between pads 20 mm apart", 0.006,
			[]flangeCase{{25e-6, 3.64750, 10.8399, 24.4938, 18.9018}, {100e-6, 15.9833, 40.7142, 90.5297, 72.9039}}},
	} {
		model, laws, m := flange(2.5, true, 10)
		theory := ""
		if c.thin {
			model.Sections[0], theory = model.Sections[0].Thin(), ", thin theory"
		}
		var loads []plate.Load
		for _, k := range c.cases {
			loads = append(loads, plate.Load{Pressure: k.q})
		}
		a, f := touchAll(model, laws, loads)
		for i, k := range c.cases {
			what := fmt.Sprintf("panel 2.5 mm thick on a flange, preloaded stations, %g Pa%s: ", math.Round(k.q*1e6), theory)
			out.add(what+"w in the middle", c.source, c.status, k.w, f[i].W[node(m, plane.Point{X: 600, Y: 400})], c.allow, c.why)
			out.unit("mm")
			for _, r := range []struct {
				of        string
				want, got float64
			}{{"a corner", k.corner, -a[i].Force[0]}, {"the middle of a long side", k.long, -a[i].Force[1]}, {"the middle of a short side", k.short, -a[i].Force[3]}} {
				out.add(what+"force at "+r.of, c.source, c.status, r.want, r.got, c.allow, c.why)
				out.unit("N")
			}
		}
	}
	return out
}

// squares are further squares that swing: other ν, and higher modes.
func squares() []Row {
	const ritzModes = "16–20 term Ritz; Leissa, Vibration of Plates, NASA SP-160, 1969, from memory, agrees where it has the case"
	var out list
	free := func(plane.Point) (w, tx, ty bool) { return false, false, false }
	corner := func(p plane.Point) (w, tx, ty bool) {
		return (at(p.X, 0) || at(p.X, 1)) && (at(p.Y, 0) || at(p.Y, 1)), false, false
	}
	for _, c := range []struct {
		what string
		nu   float64
		h    hold
		from int
		want []float64
	}{
		{"square, free, ν = 0.33", 0.33, free, 3, []float64{13.1962, 19.2584, 24.4095, 34.2856, 34.2856}},
		{"square on its four corners, ν = 0.25", 0.25, corner, 0, []float64{7.10852, 16.08714, 16.08714, 20.13139, 38.74588}},
		{"square on its four corners, ν = 0.33", 0.33, corner, 0, []float64{7.10310, 15.56391, 15.56391, 19.25836, 38.20351}},
	} {
		got := swing(1, 1, 40, 40, c.nu, c.h, c.from+len(c.want))
		for i, want := range c.want {
			if i > 0 && want == c.want[i-1] && i+1 < len(c.want) {
				continue
			}
			out.add(fmt.Sprintf("%s: frequency %d", c.what, c.from+i+1), ritzModes, Computed, want, got[c.from+i], 0.002, "40 cells to the side")
		}
	}
	// Which also must be: a square on its corners swings once as a free one whose nodes lie there.
	out.add("square on its four corners, ν = 0.33: frequency 4 over that of the free square with nodes there", "the two problems have this shape in common", Closed, 1,
		swing(1, 1, 24, 24, 0.33, corner, 4)[3]/swing(1, 1, 24, 24, 0.33, free, 5)[4], 1e-6, "the same mesh")
	return out
}
