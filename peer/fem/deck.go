package fem

import (
	"fmt"
	"math"
	"os"
	"strings"

	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// panel is one of our models as the outside program gets it: an isotropic sheet on point supports, with load cases.
type panel struct {
	*quads
	t, e, nu, rho float64
	points        []int       // nodes of the interface
	laws          []plate.Law // of each of them
	held          []int       // nodes of which w is held
	cases         []loads
	linear        bool // the laws are straight springs: no iteration needed
	modes         int  // frequencies instead of cases
	stress        bool // is written too
}

// loads is one case.
type loads struct {
	pressure float64                // MPa, outward
	on       func(plane.Point) bool // where it acts; nil: everywhere
	force    map[int]float64        // N at nodes of the outside mesh, outward
}

// small divides loads and deflections of a contact case. The outside program iterates on the broken lines of supports only in
// its large-deflection step; with the deflections made this small against the thickness, that step is the linear plate with
// contact, since forces and displacements of a law shrink alike.
const small = 1e-4

// linkLength is how far below the panel its supports are grounded, mm: links so long that they do not tilt.
const linkLength = 1e4

// reach is how far laws are tabulated, mm; beyond its table the outside program keeps the force.
const reach = 200

// write writes the input. Every number has a decimal point: the program reads others as counts in some places.
func (p *panel) write(path string) error {
	var b strings.Builder
	scale := small
	if p.linear || p.modes > 0 {
		scale = 1
	}
	fmt.Fprintf(&b, "*NODE,NSET=SHEET\n")
	for i, n := range p.nodes {
		fmt.Fprintf(&b, "%d,%.9e,%.9e,0.\n", i+1, n.X, n.Y)
	}
	if len(p.points) > 0 {
		fmt.Fprintf(&b, "*NODE,NSET=GROUND\n")
	}
	for k, n := range p.points {
		fmt.Fprintf(&b, "%d,%.9e,%.9e,%.9e\n", len(p.nodes)+k+1, p.nodes[n].X, p.nodes[n].Y, -float64(linkLength))
	}
	fmt.Fprintf(&b, "*ELEMENT,TYPE=S8R,ELSET=SHEET\n")
	for i, e := range p.elems {
		fmt.Fprintf(&b, "%d", i+1)
		for _, n := range e {
			fmt.Fprintf(&b, ",%d", n+1)
		}
		fmt.Fprintln(&b)
	}
	fmt.Fprintf(&b, "*MATERIAL,NAME=SHEET\n*ELASTIC\n%.9e,%.9e\n*DENSITY\n%.9e\n", p.e, p.nu, p.rho)
	fmt.Fprintf(&b, "*SHELL SECTION,ELSET=SHEET,MATERIAL=SHEET\n%.9e\n", p.t)
	p.writeSupports(&b, scale)
	if p.modes > 0 {
		fmt.Fprintf(&b, "*STEP\n*FREQUENCY\n%d\n*END STEP\n", p.modes)
	}
	for _, c := range p.cases {
		p.writeCase(&b, c, scale)
	}
	return os.WriteFile(path, []byte(b.String()), 0o644)
}

func (p *panel) writeSupports(b *strings.Builder, scale float64) {
	var tables []string
	group := map[string]int{} // links of one law make one group
	for k, n := range p.points {
		table := p.tabulate(p.laws[k], scale)
		if table == "" {
			continue
		}
		if _, ok := group[table]; !ok {
			group[table] = len(tables)
			tables = append(tables, table)
		}
		fmt.Fprintf(b, "*ELEMENT,TYPE=SPRINGA,ELSET=LINK%d\n%d,%d,%d\n", group[table], len(p.elems)+k+1, len(p.nodes)+k+1, n+1)
	}
	for g, table := range tables {
		if p.linear || p.modes > 0 {
			fmt.Fprintf(b, "*SPRING,ELSET=LINK%d\n\n%s", g, table)
		} else {
			fmt.Fprintf(b, "*SPRING,ELSET=LINK%d,NONLINEAR\n\n%s", g, table)
		}
	}
	still := p.still()
	fmt.Fprintf(b, "*BOUNDARY\n%d,1,2\n%d,2,2\n", still[0]+1, still[1]+1)
	if len(p.points) > 0 {
		fmt.Fprintf(b, "GROUND,1,3\n")
	}
	for _, n := range p.held {
		fmt.Fprintf(b, "%d,3,3\n", n+1)
	}
}

// still gives the two nodes that keep the panel from sliding and turning in its plane: the first, and the one farthest from it
// along x.
func (p *panel) still() [2]int {
	far := 0
	for i, n := range p.nodes {
		if math.Abs(n.X-p.nodes[0].X) > math.Abs(p.nodes[far].X-p.nodes[0].X) {
			far = i
		}
	}
	return [2]int{0, far}
}

// steady gives the pushes that do not depend on w, by node: they are plain forces to the outside program.
func (p *panel) steady() map[int]float64 {
	out := map[int]float64{}
	for k, n := range p.points {
		if l := p.laws[k]; len(l.Knots) == 1 && l.Before == 0 && l.After == 0 {
			out[n] = l.Knots[0].F
		}
	}
	return out
}

// tabulate gives a law as tension over elongation of a link, both scaled; only the rate of a straight spring; nothing for a law
// that needs none.
func (p *panel) tabulate(l plate.Law, scale float64) string {
	if len(l.Knots) == 0 || len(l.Knots) == 1 && l.Before == 0 && l.After == 0 {
		return ""
	}
	if p.linear || p.modes > 0 {
		if len(l.Knots) > 1 || l.Before != l.After || l.Knots[0] != (plate.Knot{}) {
			panic("fem: no straight spring")
		}
		return fmt.Sprintf("%.9e\n", -l.After)
	}
	var b strings.Builder
	row := func(w, f float64) { fmt.Fprintf(&b, "%.9e,%.9e\n", -f*scale, w*scale) }
	first, last := l.Knots[0], l.Knots[len(l.Knots)-1]
	row(first.W-reach, first.F-l.Before*reach)
	for _, k := range l.Knots {
		row(k.W, k.F)
	}
	row(last.W+reach, last.F+l.After*reach)
	return b.String()
}

// patience lets an increment iterate on while the set of points in contact still changes. By itself the program takes two rising
// residuals after the fourth iteration for divergence, cuts the load, and on fine meshes gives up.
const patience = "*CONTROLS,PARAMETERS=TIME INCREMENTATION\n40,80,9,160,40,4,,5\n"

func (p *panel) writeCase(b *strings.Builder, c loads, scale float64) {
	if p.linear {
		fmt.Fprintf(b, "*STEP\n*STATIC\n")
	} else {
		fmt.Fprintf(b, "*STEP,NLGEOM,INC=1000\n%s*STATIC\n1.,1.\n", patience)
	}
	fmt.Fprintf(b, "*DLOAD,OP=NEW\n")
	for i, e := range p.elems {
		q := 0.0
		if c.on == nil || c.on(p.nodes[e[0]].Lerp(p.nodes[e[2]], 0.5)) {
			q = c.pressure
		}
		fmt.Fprintf(b, "%d,P,%.9e\n", i+1, q*scale)
	}
	fmt.Fprintf(b, "*CLOAD,OP=NEW\n")
	force := p.steady()
	for n, f := range c.force {
		force[n] += f
	}
	for i := range p.nodes {
		if f := force[i]; f != 0 {
			fmt.Fprintf(b, "%d,3,%.9e\n", i+1, f*scale)
		}
	}
	fmt.Fprintf(b, "*NODE PRINT,NSET=SHEET,FREQUENCY=1000\nU\n")
	if len(p.points) > 0 {
		fmt.Fprintf(b, "*NODE PRINT,NSET=GROUND,FREQUENCY=1000\nRF\n")
	}
	if p.stress {
		fmt.Fprintf(b, "*EL FILE\nS\n")
	}
	fmt.Fprintf(b, "*END STEP\n")
}
