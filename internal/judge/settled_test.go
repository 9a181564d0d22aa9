package judge

import (
	"panelwright/internal/decided"
	"panelwright/internal/detail"
	"panelwright/internal/job"
	"panelwright/internal/setout"
)

// settled is a plan made without the search, with its joints, holes and checks.
func settled(j *job.Job) *setout.Plan {
	p := decided.Plan(j)
	detail.Holes(p)
	detail.Checks(p)
	return p
}
