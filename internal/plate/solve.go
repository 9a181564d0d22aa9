package plate

import "fmt"

// Solution is a panel's contact solved in several load cases.
type Solution struct {
	Interface  *Interface
	Compliance *Compliance
	Laws       []Law
	Reduced    *Reduced
	Answers    []*Answer // of each case
}

// Solve condenses the cases to the interface, prepares its compliance for the laws, one for each of the model's points, and
// solves the cases in order, each from the answer before. A case without an answer ends it: the error names the case by its
// place, from 0, and wraps *NotHeld or *NotConverged.
func (it *Interface) Solve(loads []Load, laws []Law) (*Solution, error) {
	c, err := NewCompliance(it.S, laws, it.Places())
	if err != nil {
		return nil, err
	}
	s := &Solution{Interface: it, Compliance: c, Laws: laws, Reduced: it.Reduce(loads)}
	var from *Answer
	for i, f := range s.Reduced.F {
		if from, err = c.Solve(f, laws, from); err != nil {
			return nil, fmt.Errorf("load case %d: %w", i, err)
		}
		s.Answers = append(s.Answers, from)
	}
	return s, nil
}

// Places returns where the interface points stand (mm). The caller owns it.
func (it *Interface) Places() [][2]float64 {
	m := it.System.Model
	out := make([][2]float64, len(m.Points))
	for i, n := range m.Points {
		out[i] = [2]float64{m.Mesh.Nodes[n].X, m.Mesh.Nodes[n].Y}
	}
	return out
}

// Field returns the whole panel in case i. The caller owns it.
func (s *Solution) Field(i int) *Field {
	return s.Interface.Field(s.Reduced, i, s.Answers[i].W)
}

// Variants solves case i once for each list of changes to the laws, from its own answer: see Compliance.Variants.
func (s *Solution) Variants(i int, changes [][]Change, workers int) []Variant {
	return s.Compliance.Variants(s.Reduced.F[i], s.Laws, s.Answers[i], changes, workers)
}
