package bearing

import (
	"fmt"

	"panelwright/internal/plate"
)

// modesWanted is how many natural frequencies are worked out.
const modesWanted = 3

// frequencies works out the lowest natural frequencies about the shut state without load: where the panel then lies on a support
// or a seat it is held still, where a station's seat stands open its wire is a spring. Lumped masses swing with the sheet, one in a
// cut-out with that cut-out's rim. A panel that loads lift off its supports swings slower.
func (r *run) frequencies() {
	if m := r.pan.Job.Outer.Material; m.Rho <= 0 {
		r.out.FrequencyWhy = fmt.Sprintf("the density of %s is not known: give it", m.ID)
		return
	}
	b := r.b
	model := &plate.Model{Mesh: b.model.Mesh, Sections: b.model.Sections}
	for i, m := range r.pan.Job.Loads.Masses {
		for k, node := range b.mass[i].node {
			if b.mass[i].share[k] < 0 {
				r.out.FrequencyWhy = fmt.Sprintf("the mass %s stands so far beside the middle of its cut-out that its rim does not tell how it swings", m.Name)
				return
			}
			model.Masses = append(model.Masses, plate.PointMass{Node: node, Mass: m.Mass * b.mass[i].share[k]})
		}
	}
	var springs []float64
	for i, node := range b.model.Points {
		rate := 0.0
		for s, w := range r.wires {
			if b.station[s] == i {
				rate += w.Rate
			}
		}
		// A seat that a wire presses shut holds both ways; a support holds where the panel presses on it.
		if r.shut.W[i] <= openGap && (rate > 0 || r.shut.Force[i] > 0) {
			model.Fixed = append(model.Fixed, plate.Fix{Node: node, W: true})
			continue
		}
		if rate > 0 {
			model.Points = append(model.Points, node)
			springs = append(springs, rate)
		}
	}
	s, err := plate.Assemble(model)
	if err != nil {
		r.out.FrequencyWhy = err.Error()
		return
	}
	modes, err := s.Modes(springs, modesWanted, false)
	if err != nil {
		r.out.FrequencyWhy = err.Error()
		return
	}
	if len(modes) > 0 && modes[0].Hz == 0 {
		r.out.FrequencyWhy = "the panel can swing as a whole: what holds it stands in one line"
		return
	}
	for _, m := range modes {
		r.out.Frequencies = append(r.out.Frequencies, m.Hz)
	}
}
