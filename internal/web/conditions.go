package web

import (
	"panelwright/internal/job"
	"panelwright/internal/measure"
)

// conditionsOf lists what the job's panels meet, each with where it comes from when the job does not give it.
func conditionsOf(j *job.Job) [][2]string {
	c := j.Conditions
	var out [][2]string
	add := func(name string, s job.Setting, words string) {
		if s.Assumed {
			words += " (assumed; " + s.Source + ")"
		}
		out = append(out, [2]string{name, words})
	}
	top := measure.MetrePerSecond(c.TopSpeed.Value)
	if c.TopSpeed.Value == 0 {
		top = "none: it stands"
	}
	add("top speed", c.TopSpeed, top)
	add("acceleration forward", c.AccelForward, measure.Gravity(c.AccelForward.Value))
	add("acceleration sideways", c.AccelSideways, measure.Gravity(c.AccelSideways.Value))
	add("acceleration vertical", c.AccelVertical, measure.Gravity(c.AccelVertical.Value))
	for _, t := range []struct {
		name string
		s    job.Setting
	}{{"coldest", c.TempMin}, {"hottest", c.TempMax}, {"at fitting", c.TempFit}} {
		add(t.name, t.s, measure.Fixed(t.s.Value, 0)+" °C")
	}
	return out
}
