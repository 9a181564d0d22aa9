package plate

import (
	"math"
	"math/rand/v2"
	"testing"
)

// lawForces is what a law gives at w, written once more from its definition, knot by knot.
func lawForces(l Law, w float64) (least, most float64) {
	if len(l.Knots) == 0 {
		return 0, 0
	}
	first, last := l.Knots[0], l.Knots[len(l.Knots)-1]
	line := func(k Knot, slope float64) float64 {
		if w == k.W {
			return k.F
		}
		return k.F + slope*(w-k.W)
	}
	switch {
	case w < first.W:
		return line(first, l.Before), line(first, l.Before)
	case w > last.W:
		return line(last, l.After), line(last, l.After)
	}
	least, most = math.Inf(1), math.Inf(-1)
	for i := range l.Knots {
		if l.Knots[i].W == w {
			least, most = min(least, l.Knots[i].F), max(most, l.Knots[i].F)
		}
	}
	for i := 1; i < len(l.Knots); i++ {
		if p, q := l.Knots[i-1], l.Knots[i]; p.W < w && w < q.W {
			f := p.F + (q.F-p.F)/(q.W-p.W)*(w-p.W)
			return f, f
		}
	}
	if w == first.W && math.IsInf(l.Before, -1) {
		most = math.Inf(1)
	}
	if w == last.W && math.IsInf(l.After, -1) {
		least = math.Inf(-1)
	}
	return least, most
}

// lawRandom is any law: 0 to 4 knots on a coarse raster, so that sums have corners in common, with vertical pieces and stops.
func lawRandom(r *rand.Rand, stops bool) Law {
	n := r.IntN(5)
	if n == 0 {
		return Law{}
	}
	slope := func() float64 {
		switch r.IntN(4) {
		case 0:
			return 0
		case 1:
			if stops {
				return math.Inf(-1)
			}
		}
		return -math.Exp(r.Float64()*10 - 5)
	}
	var l Law
	w, f := float64(r.IntN(9)-4), float64(r.IntN(9)-4)
	for range n {
		l.Knots = append(l.Knots, Knot{w, f})
		switch r.IntN(3) {
		case 0:
			f -= float64(1 + r.IntN(4)) // straight down
		case 1:
			w += float64(1 + r.IntN(3)) // flat
		default:
			w, f = w+float64(1+r.IntN(3)), f-float64(r.IntN(4))
		}
	}
	l.Before, l.After = slope(), slope()
	return l
}

func TestLawsNamed(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name        string
		law         Law
		w           float64
		least, most float64
	}{
		{"rigid, open", Rigid(), 0.5, 0, 0},
		{"rigid, touching", Rigid(), 0, 0, inf},
		{"rigid, below", Rigid(), -0.1, inf, inf},
		{"pad, open", Pad(200), 0.5, 0, 0},
		{"pad, touching", Pad(200), 0, 0, 0},
		{"pad, squeezed", Pad(200), -0.5, 100, 100},
		{"seal, shut", Seal(3, 2), 0, 6, 6},
		{"seal, let go", Seal(3, 2), 2, 0, 0},
		{"seal, past", Seal(3, 2), 5, 0, 0},
		{"seal, squeezed more", Seal(3, 2), -1, 9, 9},
		{"steady", Steady(-7), 3, -7, -7},
		{"steady, other way", Steady(4), -3, 4, 4},
		{"spring", Spring(5), 2, -10, -10},
		{"spring, other way", Spring(5), -2, 10, 10},
		{"held", Held(), 0, -inf, inf},
		{"held, moved", Held(), 1e-9, -inf, -inf},
		{"held, moved back", Held(), -1e-9, inf, inf},
		{"station, shut on a rigid seat", Station(30, 2, inf), 0, -60, inf},
		{"station, seat open", Station(30, 2, inf), 1, -90, -90},
		{"station, pressed in", Station(30, 2, inf), -0.1, inf, inf},
		{"station on a soft seat", Station(30, 2, 1000), -0.1, -57 + 100, -57 + 100},
		{"station on a soft seat, shut", Station(30, 2, 1000), 0, -60, -60},
		{"station, wire slack", Station(30, 2, 1000), -3, 3000, 3000},
		{"station without a seat, slack", Station(30, 2, 0), -3, 0, 0},
		{"station without a seat", Station(30, 2, 0), -1, -30, -30},
		{"station with a slack wire on a rigid seat", Station(30, -1, inf), 0.5, 0, 0},
		{"station with a slack wire, drawn", Station(30, -1, inf), 1.5, -15, -15},
		{"no law", Law{}, 1, 0, 0},
	} {
		if err := c.law.Fault(); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		near := func(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-12*math.Abs(b) }
		if least, most := c.law.At(c.w); !near(least, c.least) || !near(most, c.most) {
			t.Errorf("%s: at %g between %g and %g, want %g and %g", c.name, c.w, least, most, c.least, c.most)
		}
	}
}

// Laws on one point: their sum gives at each w what they give one by one.
func TestLawSum(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for trial := range 20000 {
		laws := make([]Law, 1+r.IntN(4))
		from, to := math.Inf(-1), math.Inf(1)
		for i := range laws {
			laws[i] = lawRandom(r, true)
			if err := laws[i].Fault(); err != nil {
				t.Fatalf("%+v: %v", laws[i], err)
			}
			if k := laws[i].Knots; len(k) > 0 && math.IsInf(laws[i].Before, -1) {
				from = max(from, k[0].W)
			}
			if k := laws[i].Knots; len(k) > 0 && math.IsInf(laws[i].After, -1) {
				to = min(to, k[len(k)-1].W)
			}
		}
		if from > to {
			if !panics(func() { Sum(laws...) }) {
				t.Fatalf("trial %d: stops that cross are summed: %+v", trial, laws)
			}
			continue
		}
		sum := Sum(laws...)
		if err := sum.Fault(); err != nil {
			t.Fatalf("trial %d: %+v: sum %+v: %v", trial, laws, sum, err)
		}
		for range 30 {
			w := float64(r.IntN(60)-25) / 2
			if r.IntN(2) == 0 {
				w = r.Float64()*30 - 12
			}
			if w < from || w > to {
				continue
			}
			var least, most float64
			for _, l := range laws {
				lo, hi := lawForces(l, w)
				least, most = least+lo, most+hi
			}
			lo, hi := sum.At(w)
			if !lawNear(lo, least) || !lawNear(hi, most) {
				t.Fatalf("trial %d at w = %g: sum gives %g … %g, the laws %g … %g\n%+v\n%+v", trial, w, lo, hi, least, most, laws, sum)
			}
		}
	}
}

func lawNear(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-9*(1+math.Abs(a)+math.Abs(b))
}

func panics(f func()) (yes bool) {
	defer func() { yes = recover() != nil }()
	f()
	return false
}

// At agrees with the definition on every piece, at every corner and beyond; it never rises; pieces are the same law, without gap.
func TestLawAtAndPieces(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for trial := range 20000 {
		l := lawRandom(r, true)
		ws := []float64{r.Float64()*20 - 10, float64(r.IntN(20) - 10)}
		for i, k := range l.Knots {
			ws = append(ws, k.W)
			if i > 0 {
				ws = append(ws, (k.W+l.Knots[i-1].W)/2)
			}
		}
		pieces := contactPieces(l)
		for _, w := range ws {
			lo, hi := l.At(w)
			least, most := lawForces(l, w)
			if !lawNear(lo, least) || !lawNear(hi, most) {
				t.Fatalf("trial %d: %+v at %g: %g … %g, want %g … %g", trial, l, w, lo, hi, least, most)
			}
			if v := w + r.Float64(); v > w {
				if lv, _ := l.At(v); lv > lo {
					t.Fatalf("trial %d: %+v rises from %g at %g to %g at %g", trial, l, lo, w, lv, v)
				}
			}
			p := pieces[contactFind(pieces, w)]
			if p.stop {
				if p.w0 == w && (p.lo != least || p.hi != most) {
					t.Fatalf("trial %d: %+v at %g: stop %+v, want %g … %g", trial, l, w, p, least, most)
				}
			} else if f := p.c - p.k*w; !lawNear(f, least) || !lawNear(f, most) {
				t.Fatalf("trial %d: %+v at %g: piece gives %g, want %g … %g", trial, l, w, f, least, most)
			}
		}
		for i := 1; i < len(pieces); i++ {
			if pieces[i].w0 != pieces[i-1].w1 {
				t.Fatalf("trial %d: %+v: pieces %+v do not join", trial, l, pieces)
			}
		}
	}
}

func TestLawFaults(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, l := range map[string]Law{
		"rising before":        {Knots: []Knot{{0, 0}}, Before: 1},
		"rising after":         {Knots: []Knot{{0, 0}}, After: 1e-300},
		"slope without number": {Knots: []Knot{{0, 0}}, After: nan},
		"rising between":       {Knots: []Knot{{0, 0}, {1, 2}}},
		"rising at one w":      {Knots: []Knot{{0, 0}, {0, 2}}},
		"running back":         {Knots: []Knot{{1, 0}, {0, -1}}},
		"no knots, a slope":    {Before: -1},
		"no knots, no number":  {After: nan},
		"knot at no w":         {Knots: []Knot{{nan, 0}}},
		"knot of no force":     {Knots: []Knot{{0, nan}}},
		"knot beyond":          {Knots: []Knot{{inf, 0}}},
		"endless force":        {Knots: []Knot{{0, -inf}}},
		"endless both":         {Knots: []Knot{{inf, -inf}}},
		"pad that pulls":       Pad(-3),
		"pad without number":   Pad(nan),
		"seal without squeeze": Seal(1, nan),
		"wire that pushes":     Station(-5, 1, 0),
	} {
		if l.Fault() == nil {
			t.Errorf("%s: %+v is taken for a law", name, l)
		}
	}
	for name, l := range map[string]Law{
		"nothing": {}, "held": Held(), "corner": {Knots: []Knot{{0, 3}, {0, -2}}}, "knots twice": {Knots: []Knot{{0, 0}, {0, 0}}},
	} {
		if err := l.Fault(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
