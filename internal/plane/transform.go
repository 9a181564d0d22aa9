package plane

// Transform is a similarity of the plane: a move, turn, mirror or scale, or several of them. These are the maps that keep
// arcs arcs. The zero value shrinks everything to the origin; start from Identity.
type Transform struct {
	m      Point // turn and scale as a complex factor
	t      Point // then the move
	mirror bool  // first of all: y changes sign
}

// Identity changes nothing.
func Identity() Transform { return Transform{m: Point{X: 1}} }

// Move shifts by d.
func Move(d Point) Transform { return Transform{m: Point{X: 1}, t: d} }

// Turn rotates by angle (rad, anticlockwise) about the point about.
func Turn(angle float64, about Point) Transform {
	m := Point{X: 1}.Rotate(angle)
	return Transform{m: m, t: about.Sub(mul(m, about))}
}

// Scale enlarges f times from the point about. A negative f also turns by half a turn.
func Scale(f float64, about Point) Transform {
	return Transform{m: Point{X: f}, t: about.Sub(about.Scale(f))}
}

// Mirror reflects in the line through a and b. Equal points panic.
func Mirror(a, b Point) Transform {
	d := b.Sub(a).Unit()
	if d == (Point{}) {
		panic("plane: Mirror in a line through one point twice")
	}
	m := mul(d, d)
	return Transform{m: m, t: a.Sub(mul(m, Point{a.X, -a.Y})), mirror: true}
}

// mul multiplies points as complex numbers.
func mul(a, b Point) Point { return Point{a.X*b.X - a.Y*b.Y, a.X*b.Y + a.Y*b.X} }

// Apply returns the image of p.
func (t Transform) Apply(p Point) Point {
	if t.mirror {
		p.Y = -p.Y
	}
	return mul(t.m, p).Add(t.t)
}

// Mirrors says whether the transform turns left into right.
func (t Transform) Mirrors() bool { return t.mirror }

// Factor returns by how much lengths grow.
func (t Transform) Factor() float64 { return t.m.Len() }

// Then returns the transform that does t first and u after it.
func (t Transform) Then(u Transform) Transform {
	m := t.m
	if u.mirror {
		m.Y = -m.Y
	}
	return Transform{m: mul(u.m, m), t: u.Apply(t.t), mirror: t.mirror != u.mirror}
}

// Transform returns the image of the path, vertex by vertex; a mirror makes an anticlockwise path clockwise.
func (p Path) Transform(t Transform) Path {
	q := Path{V: make([]Vertex, len(p.V)), Closed: p.Closed}
	for i, v := range p.V {
		q.V[i] = Vertex{t.Apply(v.Point), v.Bulge}
		if t.mirror {
			q.V[i].Bulge = -v.Bulge
		}
	}
	return q
}

// Transform returns the image of the region; call Normalise after a mirror.
func (r Region) Transform(t Transform) Region {
	s := Region{Outer: r.Outer.Transform(t)}
	for _, c := range r.CutOuts {
		s.CutOuts = append(s.CutOuts, c.Transform(t))
	}
	return s
}
