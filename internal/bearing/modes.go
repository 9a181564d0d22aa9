package bearing

import (
	"fmt"

	"panelwright/internal/plate"
)

// bearModes is how many natural frequencies are worked out.
const bearModes = 3

// frequencies works out the lowest natural frequencies about the shut state without load: where the panel then lies on a support
// or a seat it is held still, where a station's seat stands open its wire is a spring. A panel that loads lift off its supports
// swings slower.
func (r *bearRun) frequencies() {
	if m := r.pan.Job.Outer.Material; m.Rho <= 0 {
		r.out.FrequencyWhy = fmt.Sprintf("the density of %s is not known", m.ID)
		return
	}
	b := r.b
	model := &plate.Model{Mesh: b.model.Mesh, Sections: b.model.Sections}
	var springs []float64
	for i, node := range b.model.Points {
		if r.shut.W[i] <= 0 && r.shut.Force[i] != 0 {
			model.Fixed = append(model.Fixed, plate.Fix{Node: node, W: true})
			continue
		}
		k := 0.0
		for s, w := range r.wires {
			if b.station[s] == i {
				k += w.Rate
			}
		}
		if k > 0 {
			model.Points = append(model.Points, node)
			springs = append(springs, k)
		}
	}
	s, err := plate.Assemble(model)
	if err != nil {
		r.out.FrequencyWhy = err.Error()
		return
	}
	modes, err := s.Modes(springs, bearModes, false)
	if err != nil {
		r.out.FrequencyWhy = err.Error()
		return
	}
	for _, m := range modes {
		r.out.Frequencies = append(r.out.Frequencies, m.Hz)
	}
}
