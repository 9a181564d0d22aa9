package bearing

import (
	"context"

	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// Refined bears a panel on a mesh whose edges are so many times shorter: its cases and its frequencies.
func Refined(j *job.Job, pan *setout.Panel, refine float64) *setout.Bearing {
	b, err := build(pan, refine)
	if err != nil {
		return unknown("%v", err)
	}
	var wires []setout.Wire
	for _, st := range pan.Stations {
		wires = append(wires, setout.WireOf(j, pan, st))
	}
	r := newRun(j, pan, b, wires)
	if r.cases(context.Background()) {
		r.frequencies()
	}
	return r.out
}
