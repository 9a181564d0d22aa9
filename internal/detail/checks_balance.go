package detail

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// hullThin is how narrow (mm) the stations' hull may be before it counts as a line: holes are marked no better.
const hullThin = 1.0

// checkBalance: outward load and seats push the panel off, only stations pull it on, so the load's middle must lie within the
// stations' hull. Outside it nothing holds the panel but the lever of the support's own width: prying, on which no plan may
// count.
func checkBalance(j *job.Job, pan *setout.Panel) setout.Check {
	const id, name = "balance", "load's middle within the stations"
	basis := "least distance of the load's middle inside the hull of the stations: seats only push outwards and stations only pull, so beyond the hull the panel hangs on the lever of its support's width alone"
	at, which := wholeCentres(j, pan)
	if len(at) == 0 {
		return checkUnknown(id, name, basis, "give an outline that encloses an area")
	}
	hull := hullOf(pan)
	if len(hull) == 0 {
		return checkYes(id, name, false, "no station holds the panel").CuredBy("stations on every side of the panel's middle")
	}
	worst, value, out := 0, math.Inf(1), plane.Point{}
	for i, c := range at {
		if d, n := hullInside(hull, c); d < value-plane.EdgeTol {
			worst, value, out = i, d, n
		}
	}
	c := at[worst]
	k := checkAtLeast(id, name, value, 0, "mm", fmt.Sprintf("%s; worst at (%.0f, %.0f): %s", basis, c.X, c.Y, which[worst]), setout.RestsOrientation)
	toward := edgeToward(pan, c, out)
	if hullWidth(hull) < hullThin {
		k.Verdict = setout.DoesNotHold
		k.Basis += "; the stations stand in one line, about which the panel turns"
		if other := edgeToward(pan, c, out.Scale(-1)); value > -hullThin && other != toward {
			toward += " and towards " + other
		}
	}
	return k.CuredBy("a station is missing beyond (%.0f, %.0f), towards %s: give a support there, or move one", c.X, c.Y, toward)
}

// hullOf is the convex hull of the stations' places, anticlockwise, without places in between (A. M. Andrew, Another efficient
// algorithm for convex hulls in two dimensions, Inf. Process. Lett. 9, 1979). One or two places stay as they are.
func hullOf(pan *setout.Panel) []plane.Point {
	var pts []plane.Point
	for _, st := range pan.Stations {
		pts = append(pts, st.At)
	}
	slices.SortFunc(pts, func(a, b plane.Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	pts = slices.Compact(pts)
	if len(pts) < 3 {
		return pts
	}
	chain := func(pts []plane.Point) []plane.Point {
		var out []plane.Point
		for _, p := range pts {
			for n := len(out); n > 1 && out[n-1].Sub(out[n-2]).Cross(p.Sub(out[n-1])) <= 0; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := chain(pts)
	slices.Reverse(pts)
	return append(lower, chain(pts)...)
}

// hullInside is how far c lies inside a hull, minus its distance from it when outside; n points from the hull's nearest edge
// outwards, or towards c when it lies outside.
func hullInside(hull []plane.Point, c plane.Point) (inside float64, n plane.Point) {
	inside = math.Inf(1)
	near, foot := math.Inf(1), plane.Point{}
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		along := b.Sub(a)
		if l := along.Len(); l > 0 {
			if d := along.Cross(c.Sub(a)) / l; d < inside {
				inside, n = d, along.Perp().Scale(-1/l)
			}
		}
		t := 0.0
		if q := along.Dot(along); q > 0 {
			t = min(max(c.Sub(a).Dot(along)/q, 0), 1)
		}
		if d := a.Lerp(b, t).Dist(c); d < near {
			near, foot = d, a.Lerp(b, t)
		}
	}
	if inside > 0 && len(hull) > 2 {
		return inside, n
	}
	if near > plane.EdgeTol {
		n = c.Sub(foot).Unit()
	}
	return -near, n
}

// hullWidth is the least width of a hull: over its edges, the farthest corner. 0 for a line.
func hullWidth(hull []plane.Point) float64 {
	least := math.Inf(1)
	for i, a := range hull {
		along := hull[(i+1)%len(hull)].Sub(a).Unit()
		far := 0.0
		for _, p := range hull {
			far = math.Max(far, math.Abs(along.Cross(p.Sub(a))))
		}
		least = math.Min(least, far)
	}
	return least
}

// edgeToward names the outline's edge that lies from c in the direction n: where the ray last leaves the panel.
func edgeToward(pan *setout.Panel, c, n plane.Point) string {
	outer := pan.Job.Outline.Outer
	box := outer.Bounds()
	const steps = 500
	reach := box.Max.Dist(box.Min)
	at := c
	for i := steps; i >= 0; i-- {
		if q := c.Add(n.Scale(reach * float64(i) / steps)); outer.Contains(q) != plane.Outside {
			at = q
			break
		}
	}
	s, _, _ := outer.Nearest(at)
	for _, e := range pan.Job.Edges {
		if s >= e.From && s <= e.To {
			return "edge " + e.Name
		}
	}
	return "the nearest edge"
}
