package shell

import (
	"context"
	"errors"
	"fmt"
	"math"

	"panelwright/internal/plate"
	"panelwright/internal/sparse"
)

// Contact is a sheet on which laws act at points: supports that only push, seals, the wires of stations. Each step of Newton's method
// condenses the tangent to the w of the points and there finds, exactly, where the laws let the sheet stand [plate.Compliance]; the sheet's
// own stretching is what is left to be repeated.
type Contact struct {
	System *System
	Points []int32     // nodes, each once, whose w is free
	Laws   []plate.Law // one for each point

	plan *sparse.Plan
	at   [][2]float64
}

// Standing is a sheet under load on its supports.
type Standing struct {
	X          []float64
	Force      []float64 // N on the sheet at each point, by its law
	Residual   float64   // greatest force out of balance, as a share of the greatest force
	Iterations int
	Steps      int
}

// NewContact lays laws under a sheet. *Unsound where a point is fixed or given twice.
func NewContact(s *System, points []int32, laws []plate.Law) (*Contact, error) {
	if len(points) != len(laws) {
		panic("shell: a law for each point is wanted")
	}
	c := &Contact{System: s, Points: points, Laws: laws}
	shape := s.shape
	seen := map[int32]bool{}
	for i, p := range points {
		u := s.number[perNode*int(p)+W]
		if u < 0 || seen[p] {
			return nil, &Unsound{fmt.Sprintf("point %d", i), "its deflection is fixed, or it is given twice"}
		}
		seen[p] = true
		if err := laws[i].Fault(); err != nil {
			return nil, fmt.Errorf("law of point %d: %w", i, err)
		}
		shape.Keep = append(shape.Keep, u)
		q := s.Model.Mesh.Nodes[p]
		c.at = append(c.at, [2]float64{q.X, q.Y})
	}
	var err error
	c.plan, err = sparse.Analyse(shape)
	return c, err
}

// Solve finds where load leaves the sheet, from the state start on (nil: unloaded, unmoved). Errors: *plate.NotHeld where nothing stops it,
// *Lost where no state is found for the whole load, or the context's.
func (c *Contact) Solve(ctx context.Context, load []float64, start *Standing, o Options) (*Standing, error) {
	out := &Standing{X: make([]float64, c.System.n), Force: make([]float64, len(c.Points))}
	if start != nil {
		copy(out.X, start.X)
		copy(out.Force, start.Force)
	}
	share, step := 0.0, 1/float64(max(1, o.Steps))
	unstable := false
	for tries := 0; share < 1; tries++ {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		next := min(1, share+step)
		now, err := c.newton(ctx, out, load, next, o)
		out.Iterations += now.Iterations
		if err == nil {
			steps, iterations := out.Steps+1, out.Iterations
			*out = *now
			out.Steps, out.Iterations = steps, iterations
			share = next
			step *= 2
			continue
		}
		var loose *plate.NotHeld
		if errors.As(err, &loose) {
			return nil, err
		}
		unstable = unstable || errors.Is(err, errUnstable)
		if step /= 2; step < stepLeast || tries >= triesMost {
			return nil, &Lost{Share: share, Unstable: unstable, Last: &Answer{X: out.X, Iterations: out.Iterations, Steps: out.Steps}}
		}
	}
	return out, nil
}

// newton goes from a state to that under share of the load.
func (c *Contact) newton(ctx context.Context, from *Standing, load []float64, share float64, o Options) (*Standing, error) {
	now := &Standing{X: append([]float64(nil), from.X...), Force: append([]float64(nil), from.Force...)}
	r, scale := c.residual(now, load, share)
	// The first step always goes: laws may ask for more than the state before had.
	for now.Iterations < newtonMost && ctx.Err() == nil {
		if now.Iterations > 0 && norm(r) <= newtonClose*scale {
			now.Residual = norm(r) / scale
			return now, nil
		}
		next, err := c.advance(now, load, share, o)
		if err != nil {
			return now, err
		}
		now.Iterations++
		// Along the way to it, the first place that is better balanced, or, at the worst, all of it: laws jump.
		before := norm(r)
		var best *Standing
		var rest []float64
		var size float64
		for t := 1.0; t >= shortest; t /= 2 {
			try := mix(now, next, t)
			q, sc := c.residual(try, load, share)
			if v := norm(q); !math.IsNaN(v) && (best == nil || v < norm(rest)) {
				best, rest, size = try, q, sc
			}
			if best != nil && norm(rest) <= (1-armijo*t)*before {
				break
			}
		}
		if best == nil {
			return now, errSlow
		}
		if now.Iterations <= fullMost { // far from a state the balance first grows: stretching answers a step that bending alone made
			best = next
			rest, size = c.residual(best, load, share)
		}
		best.Iterations = now.Iterations
		now, r, scale = best, rest, size
	}
	return now, errSlow
}

// advance is one step by the true tangent, or, where that has lost its stiffness, by the safe one.
func (c *Contact) advance(now *Standing, load []float64, share float64, o Options) (*Standing, error) {
	for _, safe := range []bool{false, true} {
		f, err := c.plan.Factor(c.System.tangent(c.plan, now.X, safe), sparse.Options{Workers: o.Workers})
		if err != nil {
			continue
		}
		next, err := c.step(f, now, load, share)
		var bad *sparse.NotPositive
		if err == nil || !errors.As(err, &bad) {
			return next, err
		}
	}
	return nil, errUnstable
}

// mix is the state t of the way from a to b.
func mix(a, b *Standing, t float64) *Standing {
	out := &Standing{X: make([]float64, len(a.X)), Force: make([]float64, len(a.Force))}
	for i := range out.X {
		out.X[i] = a.X[i] + t*(b.X[i]-a.X[i])
	}
	for i := range out.Force {
		out.Force[i] = a.Force[i] + t*(b.Force[i]-a.Force[i])
	}
	return out
}

// residual is what is out of balance with the laws' forces where they stand.
func (c *Contact) residual(a *Standing, load []float64, share float64) (r []float64, scale float64) {
	r, scale = c.System.residual(a.X, load, share)
	for i, p := range c.Points {
		u := c.System.number[perNode*int(p)+W]
		r[u] += a.Force[i]
		scale = max(scale, math.Abs(a.Force[i]))
	}
	return r, scale
}

// step solves the tangent with the laws: where S·w' = r̂ + S·w + F(w'), all else following.
func (c *Contact) step(f *sparse.Factor, now *Standing, load []float64, share float64) (*Standing, error) {
	s := c.System
	r, _ := s.residual(now.X, load, share) // without the laws: they are found anew
	d := append([]float64(nil), r...)
	f.Forward(d, 1)
	m := len(c.Points)
	stiff := f.Schur()
	w, rhs := make([]float64, m), make([]float64, m)
	for i, p := range c.Points {
		w[i] = now.X[s.number[perNode*int(p)+W]]
	}
	for i, p := range c.Points {
		rhs[i] = d[s.number[perNode*int(p)+W]]
		for k := range m {
			rhs[i] += stiff[i*m+k] * w[k]
		}
	}
	face, err := plate.NewCompliance(stiff, c.Laws, c.at)
	if err != nil {
		return nil, err
	}
	a, err := face.Solve(rhs, c.Laws, nil)
	if err != nil {
		var late *plate.NotConverged
		if errors.As(err, &late) {
			return nil, errSlow
		}
		return nil, err
	}
	for i, p := range c.Points {
		d[s.number[perNode*int(p)+W]] = a.W[i] - w[i]
	}
	f.Backward(d, 1)
	out := &Standing{X: make([]float64, len(d)), Force: a.Force}
	for i := range d {
		out.X[i] = now.X[i] + d[i]
	}
	return out, nil
}
