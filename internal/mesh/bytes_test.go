package mesh_test

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
)

// reader makes a domain of bytes: every byte string is one, most of them nonsense.
type reader struct{ b []byte }

func (r *reader) next() byte {
	if len(r.b) == 0 {
		return 0
	}
	v := r.b[0]
	r.b = r.b[1:]
	return v
}

// place is a place on a raster of 1 mm, or on one of 0.01 mm beside it.
func (r *reader) place() pt {
	x, y, fine := float64(r.next()), float64(r.next()), r.next()
	return pt{X: x + 0.01*float64(fine&15), Y: y + 0.01*float64(fine>>4)}
}

func (r *reader) path(closed bool) plane.Path {
	p := plane.Path{Closed: closed}
	for range 1 + int(r.next()%8) {
		v := plane.Vertex{Point: r.place()}
		if b := r.next(); b > 128 {
			v.Bulge = (float64(b) - 192) / 40
		}
		p.V = append(p.V, v)
	}
	return p
}

func (r *reader) domain() dom {
	d := domain(20+float64(r.next()), r.path(true))
	kinds := r.next()
	for range kinds & 3 {
		d.Region.CutOuts = append(d.Region.CutOuts, r.path(true))
	}
	for range kinds >> 2 & 3 {
		d = d.line(float64(r.next()), r.path(kinds&64 != 0))
	}
	for range kinds >> 4 & 3 {
		d = d.points(r.place())
	}
	if kinds&128 != 0 {
		d.Size.Near = []mesh.Near{{At: r.place(), Step: float64(r.next()) / 8}}
		d.Size.Edge = float64(r.next())
	}
	d.Size.Nodes = 4000
	return d
}

// Whatever is asked for, the answer is a mesh or an error of a type that says why; of a region that is one, a mesh that keeps
// all promises.
func FuzzBuild(f *testing.F) {
	f.Add([]byte{10, 3, 0, 0, 0, 0, 200, 0, 0, 0, 200, 150, 0, 0, 0, 150, 0, 0})
	f.Add([]byte{10, 3, 0, 0, 0, 0, 200, 0, 0, 0, 200, 150, 0, 210, 0, 150, 0, 0, 0x15, 1, 60, 60, 0, 232, 90, 60, 0, 232, 9, 1, 0, 70, 0, 0, 220, 80, 9, 0, 33, 44, 5})
	f.Add([]byte{10, 3, 0, 0, 0, 0, 200, 0, 0, 0, 0, 150, 0, 0, 200, 150, 0, 0}) // crosses itself
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, b []byte) {
		r := &reader{b}
		d := r.domain()
		start := time.Now()
		m, err := mesh.Build(d.Domain)
		if took := time.Since(start); took > 10*time.Second {
			t.Fatalf("took %v", took)
		}
		var large *mesh.TooLarge
		var unfit *mesh.Unfit
		switch {
		case errors.As(err, &large), errors.As(err, &unfit):
			return
		case err != nil:
			t.Fatalf("an error of no type: %v", err)
		case !sound(d.Region):
			return // nothing is promised
		}
		for _, f := range faults(d.Domain, m) {
			t.Error(f)
		}
	})
}

func ExampleBuild() {
	m, err := mesh.Build(mesh.Domain{
		Region: plane.Region{Outer: plane.Rectangle(300, 200), CutOuts: []plane.Path{plane.CircleAt(plane.Point{X: 200, Y: 100}, 40)}},
		Points: []plane.Point{{X: 12, Y: 12}, {X: 288, Y: 12}},
		Lines:  []mesh.Line{{Path: plane.Open(plane.Point{X: 0, Y: 100}, plane.Point{X: 300, Y: 100}), Step: 25}},
		Size:   mesh.Size{Max: 50},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	q := m.Quality()
	fmt.Println("least angle over 20°:", q.LeastAngle > 20*math.Pi/180)
	fmt.Println("longest edge within 50 mm:", q.EdgeMax <= 50)
	fmt.Println("first station:", m.Nodes[m.Points[0]])
	for _, n := range m.Lines[0] {
		if n.Gap {
			fmt.Printf("the line leaves the panel at %.0f mm\n", n.S)
		}
	}
	// Output:
	// least angle over 20°: true
	// longest edge within 50 mm: true
	// first station: {12 12}
	// the line leaves the panel at 160 mm
}
