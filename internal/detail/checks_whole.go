package detail

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// wholeNecessary ends the basis of what follows from equilibrium alone.
const wholeNecessary = "equilibrium of the whole panel: necessary, not enough, for stations do not share alike"

// checkWhole looks at what equilibrium alone says of the panel, whatever its stiffness.
func checkWhole(j *job.Job, pan *setout.Panel) []setout.Check {
	out := []setout.Check{wholeRating(j, pan), wholePreload(pan), checkBalance(j, pan)}
	if bare := unsupported(pan); len(bare) > 0 {
		out = append(out, checkBare(pan, bare))
	}
	return out
}

// wholeLoad is the greatest total outward load (N) of the panel's cases, seal push included, and its case.
func wholeLoad(pan *setout.Panel) (load float64, name string) {
	load = math.Inf(-1)
	for _, c := range pan.Load.Cases {
		if c.Outward > load {
			load, name = c.Outward, c.Name
		}
	}
	return load, name
}

// wholeCheck compares the whole outward load with what the stations have together. A load that lacks the panel's own mass can
// only prove that it does not hold.
func wholeCheck(pan *setout.Panel, id, name string, have float64, basis, missing, cure string, rests ...string) setout.Check {
	load, which := wholeLoad(pan)
	if len(pan.Load.Cases) == 0 {
		load = math.NaN()
	}
	k := checkAtMost(id, name, load, have, "N", fmt.Sprintf("%s; load: %s; %s", basis, which, wholeNecessary), rests...)
	m := pan.Job.Outer.Material
	switch {
	case missing != "":
		k.Limit = math.NaN()
		return k.Missing(missing)
	case math.IsNaN(load):
		return k.Missing("loads: none were estimated")
	case k.Verdict == setout.Holds && (m == nil || m.Rho <= 0):
		return k.Missing("the density of the outer panel: its own mass is left out")
	}
	return k.CuredBy("%s: together they lack %.0f N", cure, load-have)
}

// wholeRating: the stations alone pull the panel on, against the whole outward load; what presses it off at its seats only adds.
func wholeRating(j *job.Job, pan *setout.Panel) setout.Check {
	have, missing := 0.0, ""
	for _, st := range pan.Stations {
		c := st.Choice
		switch {
		case c == nil || c.Stud == nil || c.Receptacle == nil:
			missing = "parts that close at station " + st.ID
		case c.Stud.Rating <= 0:
			missing = "the rating of " + c.Stud.ID
		case c.Receptacle.Rating <= 0:
			missing = "the rating of " + c.Receptacle.ID
		default:
			have += math.Min(c.Stud.Rating, c.Receptacle.Rating)
		}
	}
	have /= factor(job.Setting{Value: j.RatingFactor(&pan.Job.Limits)})
	return wholeCheck(pan, "whole-load-rating", "whole outward load against the stations' ratings", have,
		fmt.Sprintf("ratings of %d stations over the factor, added", len(pan.Stations)), missing, "more stations, stronger parts, or less load", setout.RestsRatingFactor, setout.RestsOrientation)
}

// wholePreload: while every seat is shut each wire pulls its preload, so a load beyond their sum opens a seat somewhere.
func wholePreload(pan *setout.Panel) setout.Check {
	have, missing := 0.0, ""
	for _, st := range pan.Stations {
		c := st.Choice
		switch {
		case c == nil || c.Stud == nil || c.Receptacle == nil:
			missing = "parts that close at station " + st.ID
		case c.Stud.Reach.Nom <= 0:
			missing = "the reach of " + c.Stud.ID
		case c.Receptacle.Rate.Nom <= 0:
			missing = "the wire rate of " + c.Receptacle.ID
		default:
			have += st.Close.Preload
		}
	}
	return wholeCheck(pan, "whole-load-preload", "whole outward load against the stations' preload", have,
		fmt.Sprintf("nominal preloads k·δ of %d stations, added: beyond them a seat opens somewhere", len(pan.Stations)), missing, "more stations, a stiffer wire, more deflection, or less load", setout.RestsOrientation)
}

// wholeCentres are where the outward load may have its middle: the panel's own for any even load, and that of every case whose
// parts all push outwards, from area, lumped masses and seals. Where the air presses the panel on, its supports carry that
// straight; the accelerations alone are cases too.
func wholeCentres(j *job.Job, pan *setout.Panel) (at []plane.Point, names []string) {
	jp := pan.Job
	mid, ok := jp.Outline.Centroid()
	if !ok {
		return nil, nil
	}
	at, names = append(at, mid), append(names, "an even load")
	seal, sealAt := 0.0, plane.Point{}
	for _, l := range pan.SeatLines {
		if s := l.Support.Seal; s != nil && s.PushPerLength > 0 && l.Path.EdgeCount() > 0 {
			pts := l.Path.Flatten(0.01)
			if l.Path.Closed {
				pts = append(pts, pts[0])
			}
			for i := 1; i < len(pts); i++ {
				push := s.PushPerLength * pts[i].Dist(pts[i-1])
				seal, sealAt = seal+push, sealAt.Add(pts[i].Lerp(pts[i-1], 0.5).Scale(push))
			}
		}
	}
	own := 0.0 // tonne
	if m := jp.Outer.Material; m != nil && m.Rho > 0 {
		own = m.Rho * jp.Outer.Thickness.Nom * jp.Outline.Area()
	}
	cond := &j.Conditions
	air := pan.Load.Pressure
	for _, a := range []struct {
		name  string
		accel float64
	}{{"no acceleration", 0}, {"acceleration forward", cond.AccelForward.Value}, {"acceleration sideways", cond.AccelSideways.Value}, {"acceleration vertical", cond.AccelVertical.Value}} {
		for _, p := range []float64{0, air} {
			even := p*jp.Outline.Area() + a.accel*own
			sum, where := even+seal, mid.Scale(even).Add(sealAt)
			for _, m := range jp.Loads.Masses {
				sum, where = sum+a.accel*m.Mass, where.Add(m.At.Scale(a.accel*m.Mass))
			}
			if p >= 0 && sum > 0 {
				at, names = append(at, where.Scale(1/sum)), append(names, a.name)
			}
		}
	}
	return at, names
}

// unsupported are the outline's edges along which no flange runs.
func unsupported(pan *setout.Panel) []job.Edge {
	var out []job.Edge
	for _, e := range pan.Job.Edges {
		if !slices.ContainsFunc(pan.Job.Supports, func(s *job.Support) bool { return s.Kind == "flange" && slices.Contains(s.Edges, e.Name) }) {
			out = append(out, e)
		}
	}
	return out
}

// checkBare is how far the panel moves outwards along edges that nothing carries, by the panel model, against the limit of a seam.
func checkBare(pan *setout.Panel, bare []job.Edge) setout.Check {
	const on = 0.01 // mm off the edge
	var names []string
	for _, e := range bare {
		names = append(names, e.Name)
	}
	var nodes []int
	if b := pan.Bearing; b != nil && b.Known {
		for _, e := range bare {
			edge := pan.Job.Outline.Outer.SubPath(e.From, e.To)
			for n, q := range b.Node {
				if _, d, _ := edge.Nearest(q); d <= on {
					nodes = append(nodes, n)
				}
			}
		}
	}
	k := bearingAtMost(pan, "unsupported-edges", "edges without support, under load", pan.Job.Limits.SeamGap.Value, "mm",
		fmt.Sprintf("nothing named in the job carries the panel along %s: how far it moves outwards there; nothing stops it inwards", strings.Join(names, ", ")),
		func(c *setout.BearingCase) float64 {
			most := 0.0
			for _, n := range nodes {
				most = math.Max(most, c.W[n])
			}
			return most
		}, setout.RestsSeamGap)
	if k.Verdict == setout.NotKnown {
		k.Cure = "a flange along them, or a look at the seam there on the vehicle, loaded by hand; the panel model cannot say: " + k.Cure
	}
	return k.CuredBy("a flange along them, or a stiffer sheet")
}
