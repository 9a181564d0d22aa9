package plate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"panelwright/internal/sparse"
)

// Mode is a natural frequency and its shape.
type Mode struct {
	Hz       float64
	Omega    float64   // rad/s
	W        []float64 // at each node; the largest is 1, and positive
	Residual float64   // ‖K·φ − ω²·M·φ‖ over ‖(K + σM)·φ‖
}

// ModesNotFound says that the search did not settle, or that the count of frequencies below the highest one found shows that
// some are missing.
type ModesNotFound struct {
	Wanted, Found, Counted int // Counted: −1 when the search itself did not settle
	Residual               float64
}

// Error says it in words.
func (e *ModesNotFound) Error() string {
	if e.Counted < 0 {
		return fmt.Sprintf("natural frequencies: %d of %d found when the search ended, residual %.2g", e.Found, e.Wanted, e.Residual)
	}
	return fmt.Sprintf("natural frequencies: %d found where the matrix counts %d", e.Found, e.Counted)
}

// The search: blocks of modesBlock vectors, at most modesSteps of them kept, until the wanted ones' residual is below
// modesClose. The shapes are then good to about its square root's smallness, the frequencies to its square.
const (
	modesBlock = 4
	modesSteps = 40
	modesClose = 1e-8
)

// Modes returns the n lowest natural frequencies, lowest first, rigid motions included (0 Hz where nothing holds the panel).
// Springs (N/mm) stand at the interface points; nil: none. Lumped says which mass.
//
// It is the block Lanczos method on (K + σM)⁻¹·M with all vectors kept orthogonal [grimes94]. σ is small and positive, so that a
// panel that nothing holds has a factor too. Afterwards the signs of the factor of K − μM, with μ just above the highest one
// found, count how many frequencies lie below: none is missing, or *ModesNotFound says so.
func (s *System) Modes(springs []float64, n int, lumped bool) ([]Mode, error) {
	if springs != nil && len(springs) != len(s.Model.Points) {
		panic("plate: a spring for each interface point is wanted")
	}
	free := s.Unknowns()
	if n < 1 || free == 0 {
		return nil, nil
	}
	r := &modesRun{s: s, k: s.Stiffness().Clone(), m: s.Mass(lumped), n: free, want: min(n, free)}
	for i, p := range s.Model.Points {
		if springs != nil && springs[i] != 0 {
			u := s.Deflection(p)
			r.k.Add(u, u, springs[i])
		}
	}
	r.shift()
	shifted := r.k.Clone()
	shifted.AddScaled(r.sigma, r.m)
	f, err := s.plan.Factor(shifted, sparse.Options{})
	if err != nil {
		return nil, fmt.Errorf("natural frequencies: %w", err)
	}
	r.f, r.shifted = f, shifted
	if err := r.search(); err != nil {
		return nil, err
	}
	if err := r.count(); err != nil {
		return nil, err
	}
	return r.modes(), nil
}

// modesRun is one search.
type modesRun struct {
	s          *System
	k, m       *sparse.Matrix
	shifted    *sparse.Matrix
	f          *sparse.Factor
	n, want    int
	sigma      float64
	v, mv      [][]float64 // M-orthonormal vectors, and M times them
	kv         [][]float64 // (K + σM) times them
	h          [][]float64 // their products with the vectors before them
	lambda     []float64   // ω² of the wanted, and of the next ones
	shape      [][]float64
	res        []float64
	first, end int // of the block that is multiplied next
}

// shift picks σ: a millionth of a stiff frequency's ω², from the diagonals, where the panel is thin between its points.
func (r *modesRun) shift() {
	k, m := r.k.Diagonal(), r.m.Diagonal()
	var ks, ms float64
	for i := range k {
		ks, ms = ks+k[i], ms+m[i]
	}
	if ms == 0 {
		ms = 1
	}
	// The mean of the diagonals belongs to waves as short as the triangles; the lowest frequencies lie about as many powers of
	// the number of triangles lower.
	r.sigma = ks / ms / math.Max(1, float64(r.n)*float64(r.n))
}

// search builds the vectors block by block.
func (r *modesRun) search() error {
	rng := rand.New(rand.NewPCG(1, 2))
	block := make([][]float64, modesBlock)
	for i := range block {
		block[i] = make([]float64, r.n)
		for j := range block[i] {
			block[i][j] = rng.Float64() - 0.5
		}
	}
	worst := math.Inf(1)
	for step := 0; step < modesSteps+r.want; step++ {
		x := make([]float64, 0, r.n*len(block))
		for _, b := range block {
			t := make([]float64, r.n)
			r.m.MulAdd(t, b)
			x = append(x, t...)
		}
		if err := r.f.SolveMany(x, len(block)); err != nil {
			return fmt.Errorf("natural frequencies: %w", err)
		}
		from := len(r.v)
		for i := range block {
			r.append(x[i*r.n : (i+1)*r.n : (i+1)*r.n])
		}
		if len(r.v) == from { // nothing new: all of the space is in
			worst = r.ritz()
			break
		}
		block = r.v[from:]
		if len(r.v) >= 2*r.want+modesBlock || len(r.v) >= r.n {
			if worst = r.ritz(); worst <= modesClose {
				return nil
			}
		}
	}
	if worst <= modesClose {
		return nil
	}
	return &ModesNotFound{Wanted: r.want, Found: len(r.lambda), Counted: -1, Residual: worst}
}

// append makes a vector orthonormal to all and keeps it, unless nothing is left of it.
func (r *modesRun) append(x []float64) {
	mx := make([]float64, r.n)
	r.m.MulAdd(mx, x)
	long := math.Sqrt(math.Max(contactDot(x, mx), 0))
	if long == 0 {
		return
	}
	for range 2 { // twice is enough
		for i, v := range r.v {
			c := contactDot(r.mv[i], x)
			for j := range x {
				x[j] -= c * v[j]
			}
		}
	}
	clear(mx)
	r.m.MulAdd(mx, x)
	rest := math.Sqrt(math.Max(contactDot(x, mx), 0))
	const nothing = 1e-10
	if rest <= nothing*long {
		return
	}
	for j := range x {
		x[j] /= rest
		mx[j] /= rest
	}
	kx := make([]float64, r.n)
	r.shifted.MulAdd(kx, x)
	r.v, r.mv, r.kv = append(r.v, x), append(r.mv, mx), append(r.kv, kx)
	h := make([]float64, len(r.v))
	for i, v := range r.v {
		h[i] = contactDot(v, kx)
	}
	r.h = append(r.h, h)
}

// ritz finds the best frequencies in the space of the vectors, and the worst residual of those wanted.
func (r *modesRun) ritz() float64 {
	n := len(r.v)
	h := make([]float64, n*n)
	for j, row := range r.h {
		for i, v := range row {
			h[i*n+j], h[j*n+i] = v, v
		}
	}
	values, vectors := modesJacobi(h, n)
	want := min(r.want+modesBlock, n)
	r.lambda, r.shape, r.res = r.lambda[:0], r.shape[:0], r.res[:0]
	worst := 0.0
	for e := range want {
		x, kx, mx := make([]float64, r.n), make([]float64, r.n), make([]float64, r.n)
		for i := range r.v {
			c := vectors[i*n+e]
			contactAdd(c, r.v[i], x)
			contactAdd(c, r.kv[i], kx)
			contactAdd(c, r.mv[i], mx)
		}
		var up, down float64
		for j := range kx {
			d := kx[j] - values[e]*mx[j]
			up += d * d
			down += kx[j] * kx[j]
		}
		res := math.Sqrt(up / down)
		if e < r.want {
			worst = max(worst, res)
		}
		r.lambda, r.shape, r.res = append(r.lambda, values[e]-r.sigma), append(r.shape, x), append(r.res, res)
	}
	return worst
}

// count compares how many frequencies were found with the signs of the factor of K − μM, in a gap above a wanted one.
func (r *modesRun) count() error {
	last := r.want - 1
	// Up to the end of a group of equal ones, so that μ falls into a gap.
	const gap = 1e-4
	for last+1 < len(r.lambda) && r.lambda[last+1] < r.lambda[last]*(1+gap)+gap*r.sigma {
		last++
	}
	mu := r.lambda[last]*(1+gap/3) + r.sigma*gap/3
	for try := range 3 {
		a := r.k.Clone()
		a.AddScaled(-mu*(1+1e-7*float64(try)), r.m)
		f, err := r.s.plan.Factor(a, sparse.Options{Indefinite: true})
		var below int
		if err == nil {
			_, below, err = f.Inertia()
		}
		var bad *sparse.NotPositive
		if errors.As(err, &bad) {
			continue
		}
		if err != nil {
			return err
		}
		if below != last+1 {
			return &ModesNotFound{Wanted: r.want, Found: last + 1, Counted: below}
		}
		return nil
	}
	return &ModesNotFound{Wanted: r.want, Found: last + 1, Counted: -1}
}

// modes hands out what was found.
func (r *modesRun) modes() []Mode {
	out := make([]Mode, r.want)
	for e := range out {
		w := r.s.Expand(r.shape[e]).W
		most := 0.0
		for _, v := range w {
			if math.Abs(v) > math.Abs(most)*(1+1e-9) {
				most = v
			}
		}
		if most != 0 {
			for i := range w {
				w[i] /= most
			}
		}
		omega := math.Sqrt(math.Max(r.lambda[e], 0))
		// Below a hundred millionth of the shift a frequency is rounding: a rigid motion.
		if math.Abs(r.lambda[e]) < 1e-8*r.sigma {
			omega = 0
		}
		out[e] = Mode{Hz: omega / (2 * math.Pi), Omega: omega, W: w, Residual: r.res[e]}
	}
	return out
}

// modesJacobi returns eigenvalues, rising, and vectors (column e belongs to value e) of a symmetric matrix, by cyclic turns; a is
// lost.
func modesJacobi(a []float64, n int) (values, vectors []float64) {
	v := make([]float64, n*n)
	for i := range n {
		v[i*n+i] = 1
	}
	const sweeps = 30
	for range sweeps {
		off, on := 0.0, 0.0
		for i := range n {
			for j := range i {
				off += a[i*n+j] * a[i*n+j]
			}
			on += a[i*n+i] * a[i*n+i]
		}
		if off <= 1e-30*on {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				modesTurn(a, v, n, p, q)
			}
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	for i := 1; i < n; i++ { // insertion: n is small
		for k := i; k > 0 && a[order[k]*n+order[k]] < a[order[k-1]*n+order[k-1]]; k-- {
			order[k], order[k-1] = order[k-1], order[k]
		}
	}
	values, vectors = make([]float64, n), make([]float64, n*n)
	for e, o := range order {
		values[e] = a[o*n+o]
		for i := range n {
			vectors[i*n+e] = v[i*n+o]
		}
	}
	return values, vectors
}

// modesTurn makes a[p][q] nothing.
func modesTurn(a, v []float64, n, p, q int) {
	apq := a[p*n+q]
	if apq == 0 {
		return
	}
	theta := (a[q*n+q] - a[p*n+p]) / (2 * apq)
	t := math.Copysign(1/(math.Abs(theta)+math.Hypot(theta, 1)), theta)
	c := 1 / math.Hypot(t, 1)
	s := t * c
	for k := range n {
		x, y := a[k*n+p], a[k*n+q]
		a[k*n+p], a[k*n+q] = c*x-s*y, s*x+c*y
	}
	for k := range n {
		x, y := a[p*n+k], a[q*n+k]
		a[p*n+k], a[q*n+k] = c*x-s*y, s*x+c*y
		x, y = v[k*n+p], v[k*n+q]
		v[k*n+p], v[k*n+q] = c*x-s*y, s*x+c*y
	}
}
