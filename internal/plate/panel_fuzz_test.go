package plate

import (
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/sparse"
)

// fuzzBytes reads numbers off bytes; past their end all are nothing.
type fuzzBytes []byte

func (b *fuzzBytes) next() byte {
	if len(*b) == 0 {
		return 0
	}
	v := (*b)[0]
	*b = (*b)[1:]
	return v
}

// between is evenly spread.
func (b *fuzzBytes) between(lo, hi float64) float64 {
	return lo + (hi-lo)*float64(uint16(b.next())<<8|uint16(b.next()))/65535
}

// decades is from 10^−d to 10^d.
func (b *fuzzBytes) decades(d float64) float64 { return math.Pow(10, b.between(-d, d)) }

// outline is a rectangle, a polygon about a middle, or one of arcs.
func (b *fuzzBytes) outline() plane.Path {
	kind := b.next()
	w, h := b.between(100, 1300), b.between(100, 900)
	if kind%3 == 0 {
		return plane.Rectangle(w, h)
	}
	p := plane.Path{Closed: true}
	n := 3 + int(b.next()%6)
	for i := range n {
		at, r := 2*math.Pi*(float64(i)+b.between(-0.3, 0.3))/float64(n), b.between(0.4, 0.5)
		v := plane.Vertex{Point: plane.Point{X: w * (0.5 + r*math.Cos(at)), Y: h * (0.5 + r*math.Sin(at))}}
		if kind%3 == 2 {
			v.Bulge = b.between(-0.1, 0.4)
		}
		p.V = append(p.V, v)
	}
	return p
}

// law is what stands at one point, its stiffness up to a million times more or less than some hundred N/mm.
func (b *fuzzBytes) law() Law {
	kind, k := b.next(), 200*b.decades(6)
	switch kind % 9 {
	case 0:
		return Station(k, b.between(0, 3), math.Inf(1))
	case 1:
		return Station(k, b.between(-1, 3), 200*b.decades(6))
	case 2:
		return Rigid()
	case 3:
		return Pad(k)
	case 4:
		return Seal(k/100, b.between(0, 5))
	case 5:
		return Sum(Station(200, b.between(0, 2), math.Inf(1)), Seal(b.decades(3), b.between(0, 5)))
	case 6:
		return Spring(k)
	case 7:
		return Sum(Steady(b.between(-50, 50)), Pad(k))
	}
	return Law{}
}

// fuzzPanel builds a panel from bytes; nil when they describe no mesh.
func fuzzPanel(t *testing.T, b *fuzzBytes) (*Model, []Law, []Load) {
	region := plane.Region{Outer: b.outline()}.Normalise()
	box := region.Bounds()
	size := max(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y)
	d := mesh.Domain{Region: region, Size: mesh.Size{Max: size / (3 + float64(b.next()%5)), Nodes: 300}}
	for range 2 + b.next()%24 {
		p := plane.Point{X: b.between(box.Min.X, box.Max.X), Y: b.between(box.Min.Y, box.Max.Y)}
		if region.Contains(p) == plane.Inside {
			d.Points = append(d.Points, p)
		}
	}
	g, err := mesh.Build(d)
	var large *mesh.TooLarge
	var unfit *mesh.Unfit
	switch {
	case errors.As(err, &large), errors.As(err, &unfit):
		return nil, nil, nil
	case err != nil:
		t.Fatalf("a mesh of points inside: %v", err)
	}
	m := &Model{Mesh: g, Sections: []Section{Sheet(7000*b.decades(1), 0.35, b.between(0.8, 12), 1.5e-9)}}
	seen := map[int32]int{}
	var laws []Law
	for _, n := range g.Points { // several laws at one place add up
		l := b.law()
		if i, ok := seen[n]; ok {
			laws[i] = Sum(laws[i], l)
			continue
		}
		seen[n] = len(laws)
		m.Points, laws = append(m.Points, n), append(laws, l)
	}
	loads := []Load{{}, {Pressure: b.between(-5e-3, 5e-3)}, {Accel: b.between(-2e4, 2e4), Points: []PointLoad{{Node: int32(int(b.next()) % len(g.Nodes)), Force: b.between(-200, 200)}}}}
	return m, laws, loads
}

// FuzzPanel makes a panel of any bytes and solves it: each case ends with an answer whose certificate finds nothing wrong, or
// with one of the errors that say why there is none.
func FuzzPanel(f *testing.F) {
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 17))
		var b []byte
		for range 60 {
			b = binary.LittleEndian.AppendUint64(b, r.Uint64())
		}
		f.Add(b)
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		b := fuzzBytes(data)
		m, laws, loads := fuzzPanel(t, &b)
		if m == nil {
			return
		}
		s, err := Assemble(m)
		if err != nil {
			t.Fatal(err)
		}
		it, err := s.Condense(1)
		if err != nil {
			fuzzRefused(t, err)
			return
		}
		c, err := NewCompliance(it.S, laws, it.Places())
		if err != nil {
			fuzzRefused(t, err)
			return
		}
		r := it.Reduce(loads)
		proof := NewCertifier(m)
		var from *Answer
		for i, l := range loads {
			a, field, err := it.Settle(c, r, i, laws, from)
			var vague *Uncertain
			if errors.As(err, &vague) {
				if vague.Far != 0 && !(vague.Far > SettleFar) {
					t.Errorf("case %d: %+v", i, vague)
				}
				// Figures may run out only where rounding of stiffness times deflection explains it: far off, or on next to nothing.
				if a, err := c.Solve(r.F[i], laws, from); err == nil {
					far := contactMost(it.Field(r, i, a.W).W)
					if leaves := fuzzRounding(s, laws, r.F[i], a, far); vague.Left > leaves && vague.Far == 0 {
						t.Errorf("case %d: %v, where rounding leaves %g, w to %g: %+v", i, vague, leaves, far, laws)
					}
				}
			}
			if err != nil {
				fuzzRefused(t, err)
				continue
			}
			from = a
			if faults := proof.Certify(laws, l, a, field).Faults(); len(faults) > 0 {
				t.Errorf("case %d: %v, residual %g, %d points: %+v", i, faults, a.Residual, len(laws), laws)
			}
		}
	})
}

// fuzzRounding is what rounding of the stiffness, the sheet's or a law's, times the deflection, up to far, may leave of the forces,
// relative: ten thousand roundings, for sums over elements and fronts, and for moments, whose stiffness is greater than that of forces.
func fuzzRounding(s *System, laws []Law, load []float64, a *Answer, far float64) float64 {
	const roundings = 1e4 * 0x1p-53
	stiff := contactMost(s.Stiffness().Diagonal())
	for _, l := range laws {
		for _, p := range contactPieces(l) {
			if !p.stop {
				stiff = max(stiff, p.k)
			}
		}
	}
	force := max(contactMost(a.Force), contactMost(load), settleShut(laws), math.SmallestNonzeroFloat64)
	return roundings * stiff * far / force
}

// fuzzRefused looks at why there is no answer.
func fuzzRefused(t *testing.T, err error) {
	t.Helper()
	var loose *NotHeld
	var late *NotConverged
	var vague *Uncertain
	var pivot *sparse.NotPositive
	switch {
	case errors.As(err, &loose):
		if loose.Reason == "" || math.IsNaN(loose.Motion[0]+loose.Motion[1]+loose.Motion[2]) {
			t.Errorf("%+v", loose)
		}
	case errors.As(err, &late):
		if !(late.Residual >= 0) || late.Iterations < 1 {
			t.Errorf("%+v", late)
		}
	case errors.As(err, &vague):
		if !(vague.Left > 0) || vague.Why == "" {
			t.Errorf("%+v", vague)
		}
	case !errors.As(err, &pivot):
		t.Errorf("%T: %v", err, err)
	}
}
