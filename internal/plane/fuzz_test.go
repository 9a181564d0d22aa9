package plane

import (
	"encoding/binary"
	"math"
	"testing"
)

// pathFromBytes reads 6 bytes a vertex: two coordinates of 1/16 mm, so that ties happen, and a bulge.
func pathFromBytes(b []byte, closed bool) Path {
	const most = 24
	p := Path{Closed: closed}
	for len(b) >= 6 && len(p.V) < most {
		x, y, k := int16(binary.LittleEndian.Uint16(b)), int16(binary.LittleEndian.Uint16(b[2:])), int16(binary.LittleEndian.Uint16(b[4:]))
		v := Vertex{Point: Point{float64(x) / 16, float64(y) / 16}}
		if k%2 != 0 {
			v.Bulge = math.Tan(float64(k) / 32768 * 1.5)
		}
		p.V = append(p.V, v)
		b = b[6:]
	}
	return p
}

func bytesOf(p Path) []byte {
	var b []byte
	for _, v := range p.V {
		k := int16(math.Round(math.Atan(v.Bulge) / 1.5 * 32768))
		if v.Bulge != 0 {
			k |= 1
		}
		for _, n := range []int16{int16(math.Round(v.X * 16)), int16(math.Round(v.Y * 16)), k} {
			b = binary.LittleEndian.AppendUint16(b, uint16(n))
		}
	}
	return b
}

func FuzzPath(f *testing.F) {
	rounded, _ := RoundedRectangle(200, 120, 15)
	for _, p := range []Path{
		Rectangle(100, 60), rounded, CircleAt(Point{5, 5}, 20), Polygon(Point{0, 0}, Point{10, 10}, Point{10, 0}, Point{0, 10}),
		Polygon(Point{0, 0}, Point{10, 0}, Point{5, 0}), {}, Polygon(Point{1, 1}), Polygon(Point{1, 1}, Point{1, 1}),
		{V: []Vertex{{Point{0, 0}, 1}, {Point{10, 0}, -1}}},
		{V: []Vertex{{Point{0, 0}, 0}, {Point{10, 0}, 0}, {Point{10, 4}, -1}, {Point{0, 4}, 0}}},
	} {
		f.Add(bytesOf(p), true, 3.0, 1.0, 2.0)
		f.Add(bytesOf(p), false, -3.0, 50.0, 20.0)
	}
	f.Fuzz(func(t *testing.T, b []byte, closed bool, d, x, y float64) {
		p := pathFromBytes(b, closed)
		// size is about the greatest radius and length that such paths have; identities hold within its rounding.
		size := 1e5 * float64(1+len(p.V))
		if !(math.Abs(d) < 1e4 && math.Abs(x) < 1e4 && math.Abs(y) < 1e4) {
			return // numbers beyond any panel say nothing
		}
		q := Point{x, y}
		r := p.Reverse()
		if !near(r.Length(), p.Length(), 1e-15*size, rounding) {
			t.Errorf("reversed: length %v of %v", r.Length(), p.Length())
		}
		crossings, facts := p.SelfCrossings(), p.Facts()
		if n := len(r.SelfCrossings()); (n == 0) != (len(crossings) == 0) {
			t.Errorf("reversed: %d crossings of %d", n, len(crossings))
		}
		p.Flatten(0.5)
		if len(p.V) > 0 {
			_, dist, foot := p.Nearest(q)
			_, back, _ := r.Nearest(q)
			if !near(dist, back, 1e-9, 1e-9) || !near(q.Dist(foot), dist, 1e-9, 0) {
				t.Errorf("nearest %v, reversed %v", dist, back)
			}
		}
		if total := p.Length(); total > 0 {
			if at := p.At(total * 0.37); !p.Bounds().Grow(1e-6).Has(at) {
				t.Errorf("%v lies outside the bounds %v", at, p.Bounds())
			}
			if part := p.SubPath(total*0.2, total*0.7); !near(part.Length(), total/2, 1e-12*size, 0) {
				t.Errorf("half the path is %v of %v", part.Length(), total)
			}
		}
		if !p.Closed {
			if o, err := p.OffsetOpen(d); err == nil && len(o.SelfCrossings()) > 0 {
				t.Errorf("offset crosses itself")
			}
			return
		}
		if !near(r.Area(), -p.Area(), 1e-14*size*size, rounding) {
			t.Errorf("reversed: area %v of %v", r.Area(), p.Area())
		}
		if p.Contains(q) != r.Contains(q) {
			t.Errorf("reversed: %v is %v, was %v", q, r.Contains(q), p.Contains(q))
		}
		in, err := p.Inset(d)
		if err == nil && len(facts) > 0 {
			t.Errorf("inset of a path with %v", facts)
		}
		if err == nil && d != 0 && (math.Abs(in.Area()) < math.Abs(p.Area())) != (d > 0) {
			t.Errorf("inset by %v: area %v of %v", d, in.Area(), p.Area())
		}
	})
}
