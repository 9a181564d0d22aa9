package bearing

import (
	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// Refined bears a panel on a mesh whose edges are so many times shorter.
func Refined(j *job.Job, pan *setout.Panel, refine float64) *setout.Bearing {
	b, _ := bearPanel(j, pan, refine, nil)
	return b
}
