package judge

import (
	"math"
	"slices"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// judgeThin is the width (mm) below which stations stand as good as in one line.
const judgeThin = 1.0

// judgePush is one thing that pushes the panel off: how much, and where its middle is.
type judgePush struct {
	force float64
	at    plane.Point
}

// pushes lists what pushes the panel off when it is pulled with the acceleration: even load (air and own mass), lumped
// masses, seals. even is false when air presses the panel on.
func (j *judge) pushes(air bool, accel float64) (out []judgePush) {
	jp, cond := j.pan.Job, &j.plan.Job.Conditions
	p := 0.0
	if air && jp.Loads.HasPressure {
		p = jp.Loads.Pressure
	} else if air {
		v := cond.TopSpeed.Value
		p = cond.AirDensity.Value / 2 * v * v * cond.GustFactor.Value * (jp.Loads.CpInside - jp.Loads.CpOutside)
	}
	if m := jp.Outer.Material; m != nil {
		p += accel * m.Rho * jp.Outer.Thickness.Nom
	}
	mid, _ := jp.Outline.Centroid()
	out = append(out, judgePush{p * jp.Outline.Area(), mid})
	for _, m := range jp.Loads.Masses {
		out = append(out, judgePush{accel * m.Mass, m.At})
	}
	for _, l := range j.pan.SeatLines {
		if l.Support == nil || l.Support.Seal == nil {
			continue
		}
		t := judgeTrackOf(l.Path)
		if t.total <= 0 {
			continue
		}
		for i := range t.pts[1:] {
			out = append(out, judgePush{l.Support.Seal.PushPerLength * t.step, t.pts[i].Add(t.pts[i+1]).Scale(0.5)})
		}
	}
	return out
}

// judgeSum is the whole of pushes, and its middle.
func judgeSum(list []judgePush) (force float64, at plane.Point) {
	for _, p := range list {
		force += p.force
		at = at.Add(p.at.Scale(p.force))
	}
	return force, at.Scale(1 / force)
}

// accelerations that the panel may see outwards.
func (j *judge) accelerations() []float64 {
	c := &j.plan.Job.Conditions
	return []float64{0, c.AccelForward.Value, c.AccelSideways.Value, c.AccelVertical.Value}
}

// wholeClaim covers what equilibrium alone says: the whole outward load against all ratings and against all preloads.
func (j *judge) wholeClaim(k setout.Check) judgeClaim {
	load := math.Inf(-1)
	for _, a := range j.accelerations() {
		for _, air := range []bool{true, false} {
			sum, _ := judgeSum(j.pushes(air, a))
			load = math.Max(load, sum)
		}
	}
	have := 0.0
	for _, st := range j.pan.Stations {
		s := j.look(st)
		switch {
		case s.stud == nil:
			return judgeNot
		case k.ID == "whole-load-rating" && (s.stud.Rating <= 0 || s.rec.Rating <= 0):
			return judgeNot
		case k.ID == "whole-load-rating":
			have += min(s.stud.Rating, s.rec.Rating) / judgeFactor(j.ratings())
		case s.rec.Rate.Nom <= 0 || s.stud.Reach.Nom <= 0:
			return judgeNot
		default:
			have += math.Max(0, s.rec.Rate.Nom*s.nominal())
		}
	}
	if m := j.pan.Job.Outer.Material; load <= have && (m == nil || m.Rho <= 0) {
		return judgeNot
	}
	slack := judgeTol * math.Abs(load)
	return judgeMost(judgeSpan{load - slack, load + slack}, have)
}

// inside is how far c lies within the stations, minus its distance from their hull: over every direction, the least by which
// some station stands farther out than c.
func (j *judge) inside(c plane.Point) float64 {
	return j.turning(func(u plane.Point) float64 { return j.farthest(u) - c.X*u.X - c.Y*u.Y })
}

// farthest is how far out a station stands in a direction.
func (j *judge) farthest(u plane.Point) float64 {
	far := math.Inf(-1)
	for _, st := range j.pan.Stations {
		far = math.Max(far, st.At.X*u.X+st.At.Y*u.Y)
	}
	return far
}

// turning is the least of f over all directions: sampled, then searched by thirds about the lowest samples.
func (j *judge) turning(f func(u plane.Point) float64) float64 {
	const n = 1440
	at := func(i float64) float64 {
		sin, cos := math.Sincos(2 * math.Pi * i / n)
		return f(plane.Point{X: cos, Y: sin})
	}
	low := make([]float64, n)
	for i := range low {
		low[i] = at(float64(i))
	}
	least := slices.Min(low)
	for i, v := range low {
		if v > low[(i+1)%n] || v > low[(i+n-1)%n] {
			continue // no dip here
		}
		lo, hi := float64(i)-1, float64(i)+1
		for range 60 {
			a, b := lo+(hi-lo)/3, hi-(hi-lo)/3
			if at(a) < at(b) {
				hi = b
			} else {
				lo = a
			}
		}
		least = math.Min(least, at((lo+hi)/2))
	}
	return least
}

// balanceClaim: the middle of an even load, and of every case in which nothing pushes the panel on, lies within the stations.
func (j *judge) balanceClaim() judgeClaim {
	mid, ok := j.pan.Job.Outline.Centroid()
	if !ok {
		return judgeNot
	}
	if len(j.pan.Stations) == 0 {
		return judgeYes(false)
	}
	centres := []plane.Point{mid}
	for _, a := range j.accelerations() {
		for _, air := range []bool{true, false} {
			even := j.pushes(air, 0)[0].force
			if sum, at := judgeSum(j.pushes(air, a)); even >= 0 && sum > 0 {
				centres = append(centres, at)
			}
		}
	}
	d := math.Inf(1)
	for i, c := range centres {
		if !slices.Contains(centres[:i], c) {
			d = math.Min(d, j.inside(c))
		}
	}
	wide := j.turning(func(u plane.Point) float64 { return j.farthest(u) + j.farthest(u.Scale(-1)) })
	c := judgeLeast(judgeSpan{d - judgeGap, d + judgeGap}, 0)
	c.never = wide < judgeThin
	return c
}

// bareEdges are the edges of the outline that have no flange along them.
func (j *judge) bareEdges() []plane.Path {
	carried := map[string]bool{}
	for _, s := range j.pan.Job.Supports {
		for _, e := range s.Edges {
			carried[e] = carried[e] || s.Kind == "flange"
		}
	}
	var out []plane.Path
	for _, e := range j.pan.Job.Edges {
		if !carried[e.Name] {
			out = append(out, j.pan.Job.Outline.Outer.SubPath(e.From, e.To))
		}
	}
	return out
}

// bareGap returns how far a case moves the panel's bare edges outwards, mm: the greatest at the mesh's nodes on them.
func (j *judge) bareGap() func(c *setout.BearingCase) float64 {
	const on = 0.01 // mm off the edge
	var nodes []int
	b := j.pan.Bearing
	if b == nil {
		b = &setout.Bearing{}
	}
	for _, p := range j.bareEdges() {
		t := judgeTrackOf(p)
		for n, q := range b.Node {
			if t.near(q) <= on {
				nodes = append(nodes, n)
			}
		}
	}
	return func(c *setout.BearingCase) float64 {
		most := 0.0
		for _, n := range nodes {
			most = math.Max(most, c.W[n])
		}
		return most
	}
}
