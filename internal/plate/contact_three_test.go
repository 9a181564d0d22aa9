package plate

import (
	"errors"
	"math"
	"testing"

	"panelwright/internal/mesh"
)

// A panel on three points has no stiffness of its own between them: statics alone gives the forces, and what lets go moves it
// as a rigid body. Corners (0, 0), (1200, 0) and (0, 800) under an even load carry none of it, half and half.
func TestContactThreePoints(t *testing.T) {
	inf := math.Inf(1)
	const half = 480.0
	for _, c := range []struct {
		name     string
		law      Law
		pressure float64
		w, force float64 // at the second and third corner
		held     bool
	}{
		{"rigid, pressed in", Rigid(), -1e-3, 0, half, true},
		{"rigid, drawn off", Rigid(), 1e-3, 0, 0, false},
		{"rigid, no load", Rigid(), 0, 0, 0, true},
		{"held", Held(), 1e-3, 0, -half, true},
		{"stations", Station(150, 1, inf), 1e-3, half/150 - 1, -half, true},
		{"stations, pressed in", Station(150, 1, inf), -1e-3, 0, half, true},
		{"stations and a steady push", Sum(Station(150, 1, inf), Steady(20)), 1e-3, (half+20)/150 - 1, -half, true},
		{"pads", Pad(1000), -1e-3, -half / 1000, half, true},
		{"pads, drawn off", Pad(1000), 1e-3, 0, 0, false},
		{"seals", Seal(10, 1), -1e-3, 1 - half/10, half, true},
		{"steady pushes against the load", Steady(half), -1e-3, 0, 0, false},
		{"nothing", Law{}, 1e-3, 0, 0, false},
	} {
		m := &Model{Mesh: mesh.Grid(1200, 800, 8, 6, "/"), Sections: []Section{Sheet(7000, 0.35, 12, 1.6e-9)}, Points: []int32{0, 8, 54}}
		_, it := condensed(t, m, 1)
		l := Load{Pressure: c.pressure}
		laws := []Law{c.law, c.law, c.law}
		sol, err := it.Solve([]Load{l}, laws)
		var off *NotHeld
		switch {
		case c.held && err != nil, !c.held && !errors.As(err, &off):
			t.Errorf("%s: %v", c.name, err)
			continue
		case !c.held:
			continue
		}
		a := sol.Answers[0]
		for i := 1; i < 3; i++ {
			if math.Abs(a.W[i]-c.w) > 1e-9 || math.Abs(a.Force[i]-c.force) > 1e-7 {
				t.Errorf("%s: point %d at %g with %g N, want %g and %g", c.name, i, a.W[i], a.Force[i], c.w, c.force)
			}
		}
		if f := Certify(m, laws, l, a, sol.Field(0)).Faults(); len(f) > 0 {
			t.Errorf("%s: %v", c.name, f)
		}
	}
}
