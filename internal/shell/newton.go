package shell

import (
	"context"
	"errors"
	"fmt"
	"math"

	"panelwright/internal/sparse"
)

// Options say how to solve. The zero value is the default.
type Options struct {
	Steps   int // load steps to begin with; 0: 1. They are halved where a step does not converge
	Workers int // of the factorisation; the answer does not depend on it
}

// Answer is where a load leaves the sheet.
type Answer struct {
	X          []float64 // free unknowns
	Residual   float64   // greatest force out of balance, as a share of the greatest force
	Iterations int       // of Newton, over all steps
	Steps      int       // taken
	Negative   int       // eigenvalues of the last tangent below nought: 0 for a state that stays by itself
}

// Bounds of the solver.
const (
	newtonClose = 1e-9       // of the greatest force: what may be out of balance where a step has converged
	newtonRound = 1e-12      // of what a force was added up from: what rounding may leave, whatever the load
	newtonMost  = 28         // iterations in one step
	fullMost    = 20         // of them that are taken whole on supports, whatever they do to the balance
	stepLeast   = 1.0 / 1024 // of the load: a step that fails at this length ends the search
	triesMost   = 60         // steps tried in all
	armijo      = 1e-4
	shortest    = 1.0 / 64 // of a Newton step that the line search tries
)

// Lost says that no state was found for the whole load: the sheet snaps through or buckles on the way, at about Share of it.
type Lost struct {
	Share    float64 // of the load, at which a state was last found
	Unstable bool    // the tangent there loses its last stiffness: a limit or a branch
	Last     *Answer // that state
}

// Error says it in words.
func (e *Lost) Error() string {
	if e.Unstable {
		return fmt.Sprintf("the sheet snaps through or buckles at %.3g of the load", e.Share)
	}
	return fmt.Sprintf("no state of the sheet was found beyond %.3g of the load", e.Share)
}

// Solve finds the state under load from the unloaded sheet on, by Newton's method with a line search on the potential, in as many steps as
// it takes. Errors: *Lost, or the context's.
func (s *System) Solve(ctx context.Context, load []float64, o Options) (*Answer, error) {
	out := &Answer{X: make([]float64, s.n)}
	share, step := 0.0, 1/float64(max(1, o.Steps))
	unstable := false
	for tries := 0; share < 1; tries++ {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		next := min(1, share+step)
		x, iterations, residual, negative, err := s.newton(ctx, out.X, load, next, o)
		out.Iterations += iterations
		if err == nil && negative == 0 {
			share, out.X, out.Residual, out.Negative = next, x, residual, negative
			out.Steps++
			if iterations <= newtonMost/2 && !unstable { // near a limit a longer step would only fail again
				step *= 2
			}
			continue
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		unstable = unstable || negative > 0 || errors.Is(err, errUnstable)
		if step /= 2; step < stepLeast || tries >= triesMost {
			return nil, &Lost{Share: share, Unstable: unstable, Last: out}
		}
	}
	return out, nil
}

var errUnstable = errors.New("the tangent is not positive definite")
var errSlow = errors.New("not converged")

// newton goes from x0 to the state under share of the load.
func (s *System) newton(ctx context.Context, x0, load []float64, share float64, o Options) (x []float64, iterations int, residual float64, negative int, err error) {
	x = append([]float64(nil), x0...)
	r, scale := s.residual(x, load, share)
	for iterations < newtonMost && ctx.Err() == nil {
		f, err := s.plan.Factor(s.Tangent(x), sparse.Options{Workers: o.Workers, Indefinite: true})
		if err != nil {
			return x, iterations, 0, 0, errUnstable
		}
		_, negative, err = f.Inertia()
		if err != nil {
			return x, iterations, 0, 0, errUnstable
		}
		if negative > 0 { // on the way to a state of another branch, or past a limit: a shorter step tells which
			return x, iterations, 0, negative, errUnstable
		}
		if norm(r) <= newtonClose*scale {
			return x, iterations, norm(r) / scale, negative, nil
		}
		d := append([]float64(nil), r...)
		if err := f.Solve(d); err != nil {
			return x, iterations, 0, negative, errUnstable
		}
		iterations++
		if x, r, scale, err = s.search(x, d, r, load, share); err != nil {
			return x, iterations, 0, negative, err
		}
	}
	return x, iterations, norm(r) / scale, negative, errSlow
}

// search goes along d as far as lowers the potential, or, where d leads uphill, the force out of balance.
func (s *System) search(x, d, r, load []float64, share float64) (y, ry []float64, scale float64, err error) {
	down := dot(r, d) // minus the slope of the potential along d
	was := s.potential(x, load, share)
	before := norm(r)
	for t := 1.0; t >= shortest; t /= 2 {
		y = make([]float64, len(x))
		for i := range y {
			y[i] = x[i] + t*d[i]
		}
		ry, scale = s.residual(y, load, share)
		now := norm(ry)
		if math.IsNaN(now) || math.IsInf(now, 0) {
			continue
		}
		if now <= (1-armijo*t)*before || down > 0 && s.potential(y, load, share) <= was-armijo*t*down {
			return y, ry, scale, nil
		}
	}
	return x, r, scale, errSlow
}

func (s *System) potential(x, load []float64, share float64) float64 {
	return s.Energy(x) - share*dot(load, x)
}

// residual is what is out of balance, and the greatest force that should balance: no less than what rounding leaves of the terms.
func (s *System) residual(x, load []float64, share float64) (r []float64, scale float64) {
	r, of := s.forces(x)
	for i := range r {
		f := share * load[i]
		scale = max(scale, math.Abs(f), math.Abs(r[i]), of[i]*newtonRound/newtonClose)
		r[i] = f - r[i]
	}
	return r, max(scale, math.SmallestNonzeroFloat64)
}

func norm(v []float64) (most float64) {
	for _, x := range v {
		most = max(most, math.Abs(x))
	}
	return most
}

func dot(a, b []float64) (s float64) {
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}
