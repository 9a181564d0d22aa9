package plate

import (
	"math"
	"math/rand/v2"
	"slices"
)

// modesProblem is K·x = λ·M·x with K and M not negative, K + σM positive, as the search sees it.
type modesProblem struct {
	n           int
	sigma       float64
	rigid       [][]float64                       // all x with K·x = 0
	mass, stiff func(dst, x []float64)            // dst += M·x, K·x
	solve       func(x []float64, n int) error    // (K + σM)⁻¹, in place, n vectors one after the other
	below       func(mu float64) (n int, _ error) // how many λ lie below μ, by the signs of a factor of K − μM
}

// modesPair is one λ.
type modesPair struct {
	lambda   float64
	x        []float64 // xᵀ·M·x = 1
	residual float64   // as Mode's
}

// The search multiplies modesBlock vectors at a time. A wanted λ counts as found when what is left of its vector after one more
// multiplication is below modesClose of it, so λ itself is good to about the square of that; modesTrue is what the residual worked
// out from K may be, with the rounding of a fine mesh. The count is made modesGap above the last one wanted, relative.
const (
	modesBlock = 4
	modesClose = 1e-8
	modesTrue  = 1e-5
	modesGap   = 1e-6
	modesMost  = 200 // vectors, and modesEach for each wanted one
	modesEach  = 12
	modesRound = 8
)

// lowest returns the n lowest λ, or all when there are fewer.
func (p *modesProblem) lowest(n int) ([]modesPair, error) {
	l := &modesSpace{p: p, rng: rand.New(rand.NewPCG(1, 2))}
	for _, x := range p.rigid {
		l.keep(slices.Clone(x))
	}
	l.rigid = len(l.v)
	l.done = l.rigid
	need := n - l.rigid
	for range modesRound {
		values, err := l.grow(need)
		if err != nil {
			return nil, err
		}
		if l.whole && len(values) <= need { // all that there are
			return l.pairs(len(values))
		}
		last := 0.0
		if need > 0 {
			last = values[need-1]
		}
		mu := last + modesGap*(last+p.sigma)
		below, err := p.modesBelow(mu)
		if err != nil {
			return nil, err
		}
		have := l.rigid
		for _, v := range values {
			if v < mu {
				have++
			}
		}
		if below == have {
			return l.pairs(n - l.rigid)
		}
		if below < have || l.whole {
			return nil, &ModesNotFound{Wanted: n, Found: have, Counted: below}
		}
		// Some are missing: a λ that occurs more often than a block has vectors, or one just above the last.
		need = below - l.rigid
		if err := l.stir(); err != nil {
			return nil, err
		}
	}
	return nil, &ModesNotFound{Wanted: n, Found: len(l.v), Counted: -1}
}

// modesSpace is the space that the search has built so far.
type modesSpace struct {
	p     *modesProblem
	rng   *rand.Rand
	rigid int         // so many of v come first
	v, mv [][]float64 // orthonormal by M, and M times them
	done  int         // so many of v were multiplied
	// c[j] holds (K + σM)⁻¹·M·v[j] by its parts along v: for j < rigid none.
	c       [][]float64
	whole   bool // nothing lies outside the space
	theta   []float64
	vectors []float64 // column after column, of what was multiplied
}

// grow multiplies until the lowest `need` λ are found, and returns all that the space knows, rising: each no lower than the true
// one of its place.
func (l *modesSpace) grow(need int) ([]float64, error) {
	most := modesMost + modesEach*max(need, 0)
	check := l.rigid + 2*max(need, 1) + modesBlock
	for {
		if l.done == len(l.v) && !l.whole {
			if err := l.stir(); err != nil {
				return nil, err
			}
		}
		if all := l.whole && l.done == len(l.v); all || len(l.v) >= check {
			worst := l.ritz(need)
			if all || worst <= modesClose {
				return l.values(), nil
			}
			if len(l.v) > most {
				return nil, &ModesNotFound{Wanted: need + l.rigid, Found: l.rigid, Counted: -1, Residual: worst}
			}
			check = len(l.v) + max(modesBlock, len(l.v)/10)
		}
		if err := l.multiply(); err != nil {
			return nil, err
		}
	}
}

// multiply takes the vectors that were not multiplied yet and adds what is new.
func (l *modesSpace) multiply() error {
	n := l.p.n
	block := l.mv[l.done:]
	x := make([]float64, 0, n*len(block))
	for _, b := range block {
		x = append(x, b...)
	}
	if err := l.p.solve(x, len(block)); err != nil {
		return err
	}
	for i := range block {
		l.c = append(l.c, l.keep(x[i*n:(i+1)*n:(i+1)*n]))
	}
	l.done += len(block)
	return nil
}

// stir adds vectors at random that were multiplied once, so that they have nothing that M does not know.
func (l *modesSpace) stir() error {
	n := l.p.n
	x, m := make([]float64, n*modesBlock), make([]float64, n*modesBlock)
	for i := range x {
		x[i] = l.rng.Float64() - 0.5
	}
	for i := range modesBlock {
		l.p.mass(m[i*n:(i+1)*n], x[i*n:(i+1)*n])
	}
	if err := l.p.solve(m, modesBlock); err != nil {
		return err
	}
	before := len(l.v)
	for i := range modesBlock {
		l.keep(m[i*n : (i+1)*n : (i+1)*n])
	}
	l.whole = len(l.v) == before
	return nil
}

// keep makes x orthonormal to all and keeps it, unless nothing is left of it. It returns the parts of x along all vectors; x is
// lost.
func (l *modesSpace) keep(x []float64) []float64 {
	parts := make([]float64, len(l.v), len(l.v)+1)
	square := 0.0
	for range 2 { // twice is enough
		for i, v := range l.v {
			c := contactDot(l.mv[i], x)
			parts[i] += c
			contactAdd(-c, v, x)
		}
	}
	for _, c := range parts {
		square += c * c
	}
	mx := make([]float64, l.p.n)
	l.p.mass(mx, x)
	rest := math.Sqrt(math.Max(contactDot(x, mx), 0))
	const nothing = 1e-11
	if rest <= nothing*math.Sqrt(square) || rest == 0 {
		return parts
	}
	for j := range x {
		x[j] /= rest
		mx[j] /= rest
	}
	l.v, l.mv = append(l.v, x), append(l.mv, mx)
	return append(parts, rest)
}

// ritz finds the best λ in what was multiplied, and returns by how much the worst of the lowest `need` is off, relative.
func (l *modesSpace) ritz(need int) float64 {
	r := l.rigid
	m := l.done - r
	t := make([]float64, m*m)
	for j := range m {
		for i := range j + 1 {
			v := l.c[j][r+i]
			t[i*m+j], t[j*m+i] = v, v
		}
	}
	values, vectors := denseEigen(t, m)
	slices.Reverse(values) // the greatest 1/(λ + σ) belongs to the lowest λ
	l.theta, l.vectors = values, make([]float64, m*m)
	for e := range m {
		for i := range m {
			l.vectors[e*m+i] = vectors[i*m+m-1-e]
		}
	}
	worst := 0.0
	if m < need {
		worst = math.Inf(1)
	}
	left := make([]float64, len(l.v)-l.done)
	for e := range min(need, m) {
		clear(left)
		for j, s := range l.vectors[e*m : (e+1)*m] {
			for i := l.done; i < len(l.c[j]); i++ {
				left[i-l.done] += s * l.c[j][i]
			}
		}
		worst = max(worst, math.Sqrt(contactDot(left, left))/values[e])
	}
	return worst
}

// values returns the λ of the last ritz.
func (l *modesSpace) values() []float64 {
	out := make([]float64, 0, len(l.theta))
	for _, v := range l.theta {
		if v > 0 { // what is not is rounding, of a λ without bound
			out = append(out, 1/v-l.p.sigma)
		}
	}
	return out
}

// pairs returns the rigid motions and the n lowest others, and works out their residuals: (K + σM)⁻¹·(K − λM)·x has parts
// (λi − λ)/(λi + σ) along the true vectors, so its length bounds the nearest of these.
func (l *modesSpace) pairs(n int) ([]modesPair, error) {
	var out []modesPair
	for i := range min(l.rigid, l.rigid+n) {
		out = append(out, modesPair{x: l.v[i]})
	}
	m := len(l.theta)
	for e := range max(n, 0) {
		x := make([]float64, l.p.n)
		for i, s := range l.vectors[e*m : (e+1)*m] {
			contactAdd(s, l.v[l.rigid+i], x)
		}
		out = append(out, modesPair{lambda: 1/l.theta[e] - l.p.sigma, x: x})
	}
	worst := 0.0
	for i := range out {
		off, m := make([]float64, l.p.n), make([]float64, l.p.n)
		l.p.stiff(off, out[i].x)
		l.p.mass(m, out[i].x)
		contactAdd(-out[i].lambda, m, off)
		if err := l.p.solve(off, 1); err != nil {
			return nil, err
		}
		clear(m)
		l.p.mass(m, off)
		out[i].residual = math.Sqrt(math.Max(contactDot(off, m), 0))
		worst = max(worst, out[i].residual)
	}
	if !(worst <= modesTrue) {
		return nil, &ModesNotFound{Wanted: len(out), Found: len(out), Counted: -1, Residual: worst}
	}
	return out, nil
}
