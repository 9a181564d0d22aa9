package plate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"panelwright/internal/sparse"
)

// Mode is a natural frequency and its shape.
type Mode struct {
	Hz    float64
	Omega float64   // rad/s
	W     []float64 // at each node; the largest magnitude is 1, the first of those as large is positive
	// Residual bounds what is off: some true ω² lies within Residual·(ω² + σ) of this one, σ being about the square of the
	// lowest frequency that a sheet of this size has when it is held. It is worked out from K, not from the search.
	Residual float64
}

// ModesNotFound says that the search did not settle, or that the count of frequencies below the highest one found shows that
// some are missing.
type ModesNotFound struct {
	Wanted, Found int
	Counted       int // how many lie there by the signs of a factor; −1 when it did not come to that
	Residual      float64
}

// Error says it in words.
func (e *ModesNotFound) Error() string {
	if e.Counted < 0 {
		return fmt.Sprintf("natural frequencies: %d of %d found when the search ended, residual %.2g", e.Found, e.Wanted, e.Residual)
	}
	return fmt.Sprintf("natural frequencies: %d found where the matrix counts %d", e.Found, e.Counted)
}

// Modes returns the n lowest natural frequencies, lowest first, each as often as it occurs, rigid motions included: 0 Hz, with
// the motion as its shape, where nothing holds the panel or a piece of it. Fewer come only when the model has no more. Springs
// (N/mm, not negative) stand at the interface points; nil: none. Lumped says which mass.
//
// It is the block Lanczos method on (K + σM)⁻¹·M with all vectors kept orthogonal [grimes94]; rigid motions are known from the
// places of supports and taken out beforehand. Afterwards the signs of the factor of K − μM, with μ just above the highest
// frequency wanted, count how many lie below: when some are missing they are looked for, and *ModesNotFound tells when they
// stay missing. *Unsound when the panel has no mass or a spring is no spring, a wrapped *sparse.NotPositive when stiffnesses lie
// too far apart for the arithmetic. The same model gives the same digits.
func (s *System) Modes(springs []float64, n int, lumped bool) ([]Mode, error) {
	if springs != nil && len(springs) != len(s.Model.Points) {
		panic("plate: a spring for each interface point is wanted")
	}
	if n < 1 || s.Unknowns() == 0 {
		return nil, nil
	}
	p, err := s.modesProblem(springs, lumped)
	if err != nil {
		return nil, err
	}
	found, err := p.lowest(n)
	if err != nil {
		return nil, fmt.Errorf("natural frequencies: %w", err)
	}
	out := make([]Mode, len(found))
	for i, f := range found {
		omega := math.Sqrt(math.Max(f.lambda, 0))
		out[i] = Mode{Hz: omega / (2 * math.Pi), Omega: omega, W: modesScale(s.Expand(f.x).W), Residual: f.residual}
	}
	return out, nil
}

// modesScale divides by the largest, with the sign that makes the first of those as large positive. Shapes are good to about
// 1e-8, so what is nearer than a millionth counts as equal: the sign must not hang on rounding.
func modesScale(w []float64) []float64 {
	const equal = 1e-6
	most := max(slices.Max(w), -slices.Min(w))
	if most == 0 {
		return w
	}
	if first := slices.IndexFunc(w, func(v float64) bool { return math.Abs(v) >= most*(1-equal) }); w[first] < 0 {
		most = -most
	}
	for i := range w {
		w[i] /= most
	}
	return w
}

// modesProblem puts the panel on its springs before the search.
func (s *System) modesProblem(springs []float64, lumped bool) (*modesProblem, error) {
	k, m := s.k.Clone(), s.Mass(lumped)
	sigma, err := s.modesShift(m)
	if err != nil {
		return nil, err
	}
	var held []int32
	for i, spring := range springs {
		if !(spring >= 0) || math.IsInf(spring, 0) {
			return nil, &Unsound{fmt.Sprintf("interface point %d", i), fmt.Sprintf("a spring of %g N/mm", spring)}
		}
		if spring > 0 {
			u := s.Deflection(s.Model.Points[i])
			k.Add(u, u, spring)
			held = append(held, s.Model.Points[i])
		}
	}
	shifted := k.Clone()
	shifted.AddScaled(sigma, m)
	f, err := s.plan.Factor(shifted, sparse.Options{})
	if err != nil {
		return nil, fmt.Errorf("natural frequencies: %w", err)
	}
	return &modesProblem{
		n: s.Unknowns(), sigma: sigma, rigid: s.modesRigid(held),
		mass: m.MulAdd, stiff: k.MulAdd, solve: f.SolveMany,
		below: func(mu float64) (int, error) {
			a := k.Clone()
			a.AddScaled(-mu, m)
			f, err := s.plan.Factor(a, sparse.Options{Indefinite: true})
			if err != nil {
				return 0, err
			}
			_, below, err := f.Inertia()
			return below, err
		},
	}, nil
}

// modesShift picks σ. The mean of K over that of M on the deflections belongs to waves as short as the triangles; the lowest
// frequencies, squared, lie lower by about the square of the number of nodes: their waves are longer by its root, and ω² goes
// with the fourth power. So σ is about as great as the lowest ω² of the sheet when it is held, whatever its units, and a panel
// that nothing holds has a factor too.
func (s *System) modesShift(m *sparse.Matrix) (float64, error) {
	kd, md := s.k.Diagonal(), m.Diagonal()
	var ks, ms float64
	n := 0
	for node := range s.Nodes() {
		if u := s.Deflection(int32(node)); u >= 0 {
			ks, ms = ks+kd[u], ms+md[u]
			n++
		}
	}
	if !(ms > 0) {
		return 0, &Unsound{"sections", "nothing that can move has a mass"}
	}
	return ks / ms / (float64(n) * float64(n)), nil
}

// modesRigid returns, over the free unknowns, the rigid motions that fixed nodes and springs at the held nodes leave.
func (s *System) modesRigid(held []int32) (out [][]float64) {
	piece, n := s.pieces()
	for p := range n {
		for _, m := range s.pieceMotions(piece, int32(p), held) {
			x := make([]float64, s.Unknowns())
			for node, q := range s.Model.Mesh.Nodes {
				if piece[node] == int32(p) {
					s.addNode(x, int32(node), []float64{m[0] + m[1]*q.X + m[2]*q.Y, m[2], -m[1]})
				}
			}
			out = append(out, x)
		}
	}
	return out
}

// modesBelow counts, and moves μ a little where a pivot is nothing.
func (p *modesProblem) modesBelow(mu float64) (int, error) {
	var bad *sparse.NotPositive
	for try := range 4 {
		below, err := p.below(mu + 1e-7*float64(try)*(mu+p.sigma))
		if !errors.As(err, &bad) {
			return below, err
		}
	}
	return 0, bad
}
