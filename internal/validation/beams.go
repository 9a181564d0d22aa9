package validation

import (
	"fmt"
	"math"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// beams are narrow sheets with ν = 0 over several supports, and on an elastic foundation.
func beams() []Row {
	var out list
	const width, span = 10.0, 200.0
	for _, c := range []struct {
		spans int
		want  []float64 // reactions over the load of a span, from the end
	}{{2, []float64{0.375, 1.25}}, {3, []float64{0.4, 1.1}}, {4, []float64{0.392857, 1.142857, 0.928571}}, {5, []float64{0.394737, 1.131579, 0.973684}}} {
		m := mesh.Grid(span*float64(c.spans), width, 20*c.spans, 2, "x")
		f := fixed(m, func(p plane.Point) (w, tx, ty bool) { return at(math.Mod(p.X+span/2, span), span/2), false, false })
		s := solve(&plate.Model{Mesh: m, Sections: []plate.Section{unit(0)}, Fixed: f}, plate.Load{Pressure: 1})
		r := make([]float64, c.spans+1)
		for n, force := range s.reactions() {
			r[int(math.Round(m.Nodes[n].X/span))] += force / (span * width)
		}
		for i, want := range c.want {
			out.add(fmt.Sprintf("beam over %d equal spans, even load: support %d carries /(w·L)", c.spans, i+1), "three-moment equation", Computed, want, r[i], 0.002, "20 cells to the span; the strip bends a little across")
		}
	}
	return append(append(out, foundation()...), massed()...)
}

// massed are beams on two supports with a mass in the middle, μ times their own: μ·z·(tan z − tanh z) = 2 with z = βL/2, from the
// beam's shape on either side and the mass between them.
func massed() []Row {
	var out list
	const width, span, cells = 10.0, 200.0, 40
	for _, mu := range []float64{0.25, 1, 5} {
		m := mesh.Grid(span, width, cells, 2, "x")
		sec := unit(0)
		sec.Mass = 1
		model := &plate.Model{Mesh: m, Sections: []plate.Section{sec},
			Fixed: fixed(m, func(p plane.Point) (w, tx, ty bool) { return at(p.X, 0) || at(p.X, span), false, false })}
		for j, share := range []float64{0.25, 0.5, 0.25} {
			model.Masses = append(model.Masses, plate.PointMass{Node: int32(j*(cells+1) + cells/2), Mass: mu * span * width * share})
		}
		s, err := plate.Assemble(model)
		if err != nil {
			panic("validation: " + err.Error())
		}
		modes, err := s.Modes(nil, 1, false)
		if err != nil {
			panic("validation: " + err.Error())
		}
		lo, hi := 0.0, math.Pi/2
		for range 100 {
			if z := (lo + hi) / 2; mu*z*(math.Tan(z)-math.Tanh(z)) < 2 {
				lo = z
			} else {
				hi = z
			}
		}
		out.add(fmt.Sprintf("beam on two supports with %g times its own mass in the middle: λ = ω·L²·√(ρA/EI)", mu), "beam theory, μ·z·(tan z − tanh z) = 2, z = √λ/2", Closed,
			4*lo*lo, modes[0].Omega*span*span, 0.003, "40 cells to the span; the strip bends a little across")
	}
	return out
}

// foundation is a beam on an elastic foundation, EI = 1e9 N·mm², k = 1 N/mm², loaded in its middle or at its end.
func foundation() []Row {
	const source = "Hetényi, Beams on Elastic Foundation, 1946, ch. 2 and 3"
	const status = Memory + " (checked)"
	const why = "foundation at points every 20 mm"
	var out list
	const width, long, cells = 100.0, 4000.0, 200
	solveAt := func(x int) (*mesh.Mesh, *plate.Field, *plate.Stress) {
		m := mesh.Grid(long, width, cells, 2, "x")
		model := &plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(15000, 0, 20, 1).Thin()}}
		var laws []plate.Law
		var p []plate.PointLoad
		for j := range 3 {
			share := []float64{0.25, 0.5, 0.25}[j]
			for i := range cells + 1 {
				k := long / cells * share
				if i == 0 || i == cells {
					k /= 2
				}
				model.Points, laws = append(model.Points, int32(j*(cells+1)+i)), append(laws, plate.Spring(k))
			}
			p = append(p, plate.PointLoad{Node: int32(j*(cells+1) + x), Force: 1000 * share})
		}
		_, f := touchAll(model, laws, []plate.Load{{Points: p}})
		s, err := plate.Assemble(model)
		if err != nil {
			panic("validation: " + err.Error())
		}
		return m, f[0], s.Stress(f[0])
	}
	// The first place to the right of the middle where v changes its sign, on the beam's axis.
	zero := func(v func(n int) float64) float64 {
		for i := cells / 2; i < cells; i++ {
			a, b := v(cells+1+i), v(cells+2+i)
			if a > 0 != (b > 0) {
				return long / cells * (float64(i-cells/2) + a/(a-b))
			}
		}
		return math.NaN()
	}
	_, f, st := solveAt(cells / 2)
	moment := func(n int) float64 { // across the width, n on the axis
		return (st.M[n-cells-1][0] + 2*st.M[n][0] + st.M[n+cells+1][0]) / 4 * width
	}
	out.add("long beam on an elastic foundation, force in the middle: where y is nothing", source, status, 592.552, zero(func(n int) float64 { return f.W[n] }), 0.005, why)
	out.unit("mm")
	out.add("the same: moment under the force", source, status, 62871.67, moment(cells+1+cells/2), 0.03, "the moment has a kink there: of first order")
	out.unit("N·mm")
	out.add("the same: where the moment is nothing", source, status, 197.518, zero(moment), 0.01, why)
	out.unit("mm")
	_, f, _ = solveAt(0)
	out.add("long beam on an elastic foundation, force at its end: deflection there", source, status, 7.952707, f.W[cells+1], 0.003, why)
	out.unit("mm")
	return out
}
