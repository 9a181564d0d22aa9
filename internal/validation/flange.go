package validation

import (
	"fmt"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// flangeStations are the eight stations of the panel of 1200 × 800 mm that outside programs solved.
var flangeStations = [][2]int{{20, 20}, {600, 20}, {1180, 20}, {20, 400}, {1180, 400}, {20, 780}, {600, 780}, {1180, 780}}

// flange is that panel, t mm thick, E = 7000 MPa, ν = 0.35: on springs alone, or with pads every 20 mm on its outline and on the
// rectangle 40 mm inside it. The stations are the first interface points.
func flange(t float64, pads bool, cell int) (*plate.Model, []plate.Law, *mesh.Mesh) {
	m := mesh.Grid(1200, 800, 1200/cell, 800/cell, "x")
	find := map[plane.Point]int32{}
	for i, p := range m.Nodes {
		find[plane.Point{X: float64(int(p.X + 0.5)), Y: float64(int(p.Y + 0.5))}] = int32(i)
	}
	model := &plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(7000, 0.35, t, 1.5e-9)}}
	var laws []plate.Law
	done := map[[2]int]bool{}
	add := func(x, y int, l plate.Law) {
		if !done[[2]int{x, y}] {
			done[[2]int{x, y}] = true
			model.Points, laws = append(model.Points, find[plane.Point{X: float64(x), Y: float64(y)}]), append(laws, l)
		}
	}
	for _, s := range flangeStations {
		l := plate.Spring(150)
		if pads {
			l = plate.Law{Knots: []plate.Knot{{W: 0, F: -60}}, Before: -150 - 5000, After: -150}
		}
		add(s[0], s[1], l)
	}
	if pads {
		for y := 0; y <= 800; y += 20 {
			for x := 0; x <= 1200; x += 20 {
				outer := x == 0 || x == 1200 || y == 0 || y == 800
				inner := (x == 40 || x == 1160) && y >= 40 && y <= 760 || (y == 40 || y == 760) && x >= 40 && x <= 1160
				if outer || inner {
					add(x, y, plate.Pad(2000))
				}
			}
		}
	}
	return model, laws, m
}

// springs is the panel on its springs alone, without contact.
func springs() []Row {
	var out []Row
	for _, c := range []struct {
		t, w, corner, long, short float64
		source, status, why       string
		allow                     float64
	}{
		{12, 8.62460, 100.787, 477.029, 281.397, "bicubic rectangles of our own, outside the program (no peer; h = 5 mm)", Computed, "60 × 40 cells", 0.004},
		{12, 8.6626, 101.250, 476.590, 280.908, "CalculiX 2.20, quadratic shells, h = 10 mm", Program, "a thick shell with a three-dimensional edge", 0.006},
		{2.5, 619.992, 69.5925, 501.160, 319.654, "CalculiX 2.20, quadratic shells, linear, h = 10 mm", Program, "60 × 40 cells; linear theory far beyond its range, as a check of arithmetic", 0.005},
	} {
		model, laws, m := flange(c.t, false, 20)
		a, f := touchAll(model, laws, []plate.Load{{Pressure: 0.002}})
		what := fmt.Sprintf("panel 1200 × 800 × %g mm on 8 springs, 2 kPa", c.t)
		row := func(of, unit string, want, got float64) {
			out = append(out, Row{What: what + ": " + of, Source: c.source, Status: c.status, Unit: unit, Expected: want, Got: got, Allow: c.allow, Reason: c.why})
		}
		row("w in the middle", "mm", c.w, f[0].W[node(m, plane.Point{X: 600, Y: 400})])
		row("force at a corner", "N", c.corner, 150*a[0].W[0])
		row("force in the middle of a long side", "N", c.long, 150*a[0].W[1])
		row("force in the middle of a short side", "N", c.short, 150*a[0].W[3])
	}
	return out
}

const flangeWhy = "sheet between pads 20 mm apart on cells of 20 mm; theories of thick sheets and meshes differ by half of it"

// contact is the panel on its flange with preloaded stations: what one-sided contact and prying do.
func contact() []Row {
	var out []Row
	add := func(t float64, cases []flangeCase, source, status string) {
		model, laws, m := flange(t, true, 20)
		var loads []plate.Load
		for _, c := range cases {
			loads = append(loads, plate.Load{Pressure: c.q})
		}
		a, f := touchAll(model, laws, loads)
		for i, c := range cases {
			what := fmt.Sprintf("panel %g mm thick on a flange, preloaded stations, %g Pa", t, c.q*1e6)
			row := func(of, unit string, want, got, allow float64, why string) {
				out = append(out, Row{What: what + ": " + of, Source: source, Status: status, Unit: unit, Expected: want, Got: got, Allow: allow, Reason: why})
			}
			pull := func(p int) float64 { return -a[i].Force[p] }
			if c.q == 0 {
				row("force at a corner", "N", c.corner, pull(0), 0.07, "the local give of sheet between pads 20 mm apart decides")
				continue
			}
			row("w in the middle", "mm", c.w, f[i].W[node(m, plane.Point{X: 600, Y: 400})], 0.01, flangeWhy)
			row("force at a corner", "N", c.corner, pull(0), 0.01, flangeWhy)
			row("force in the middle of a long side", "N", c.long, pull(1), 0.01, flangeWhy)
			row("force in the middle of a short side", "N", c.short, pull(3), 0.01, flangeWhy)
		}
	}
	add(12, []flangeCase{{0, 0, 37.8509, 0, 0}, {0.001, 3.86944, 88.9367, 236.876, 142.899}, {0.002, 8.21039, 133.581, 475.393, 282.972}}, "CalculiX 2.20, nonlinear springs, small displacement", Program)
	add(12, []flangeCase{{0, 0, 40.6472, 0, 0}, {0.0005, 1.69166, 68.6013, 117.589, 76.2927}, {0.0015, 6.00939, 111.576, 356.466, 213.457}}, "bicubic rectangles of our own with an active set, outside the program (no peer)", Computed)
	return out
}

type flangeCase struct{ q, w, corner, long, short float64 }
