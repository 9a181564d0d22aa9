package setout

import (
	"panelwright/internal/job"
	"panelwright/internal/plane"
)

// loadFlat is how far (mm) the straight pieces that stand for arcs may stay off them while areas are shared out.
const loadFlat = 0.01

// loadAreas returns for each station the area (mm²) of the panel that is nearer to it than to any other: the outline and
// cut-outs clipped to the station's cell, which is the meeting of the half planes on its side of each bisector. The areas
// add up to the panel's: what the straightened arcs leave out is shared in proportion. Stations at one place share its cell.
func loadAreas(pan *Panel) []float64 {
	var loops [][]plane.Point
	for _, path := range pan.Job.Outline.Paths() {
		loops = append(loops, path.Flatten(loadFlat))
	}
	at := make([]plane.Point, len(pan.Stations))
	for i, st := range pan.Stations {
		at[i] = st.At
	}
	out := make([]float64, len(at))
	sum := 0.0
	for i := range at {
		for n, loop := range loops {
			cell := loop
			for k := range at {
				if at[k] != at[i] && len(cell) > 0 {
					cell = loadClip(cell, at[i], at[k])
				}
			}
			a := loadArea(cell)
			if a < 0 {
				a = -a
			}
			if n > 0 {
				a = -a
			}
			out[i] += a
		}
		same := 0
		for k := range at {
			if at[k] == at[i] {
				same++
			}
		}
		out[i] /= float64(same)
		sum += out[i]
	}
	if sum > 0 {
		f := pan.Job.Outline.Area() / sum
		for i := range out {
			out[i] *= f
		}
	}
	return out
}

// loadClip cuts a loop to the points nearer to p than to q (I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping,
// Commun. ACM 17, 1974). A loop that is not convex may keep doubled edges along the cut; they enclose nothing.
func loadClip(loop []plane.Point, p, q plane.Point) []plane.Point {
	mid, n := p.Lerp(q, 0.5), q.Sub(p)
	side := func(x plane.Point) float64 { return -x.Sub(mid).Dot(n) }
	out := make([]plane.Point, 0, len(loop)+2)
	last := loop[len(loop)-1]
	was := side(last)
	for _, x := range loop {
		is := side(x)
		if (was >= 0) != (is >= 0) {
			out = append(out, last.Lerp(x, was/(was-is)))
		}
		if is >= 0 {
			out = append(out, x)
		}
		last, was = x, is
	}
	return out
}

// loadArea is the signed area of a loop of straight lines, about its first point to keep the rounding small.
func loadArea(loop []plane.Point) float64 {
	a := 0.0
	for i := 2; i < len(loop); i++ {
		a += loop[i-1].Sub(loop[0]).Cross(loop[i].Sub(loop[0]))
	}
	return a / 2
}

// loadSealPush returns for each station the push (N) of the seal on the length of seat line that is nearest to it. A support's
// seal pushes on the stations of that support alone; where it has none, its push goes to the nearest of all, for it must be
// held by something.
func loadSealPush(pan *Panel) []float64 {
	out := make([]float64, len(pan.Stations))
	for _, line := range pan.SeatLines {
		if line.Support.Seal == nil || line.Support.Seal.PushPerLength == 0 {
			continue
		}
		pts := line.Path.Flatten(loadFlat)
		straight := 0.0
		lengths := make([]float64, len(out))
		on := loadStanding(pan, line.Support)
		for k := 1; k < len(pts); k++ {
			straight += pts[k-1].Dist(pts[k])
			loadLengths(pan, on, pts[k-1], pts[k], lengths)
		}
		if straight == 0 {
			continue
		}
		for i, n := range lengths {
			out[i] += line.Support.Seal.PushPerLength * n * line.Path.Length() / straight
		}
	}
	return out
}

// loadStanding returns the numbers of the stations that stand on a support, or of all when none does.
func loadStanding(pan *Panel, sup *job.Support) []int {
	var on, all []int
	for i, st := range pan.Stations {
		if all = append(all, i); st.Support == sup {
			on = append(on, i)
		}
	}
	if len(on) == 0 {
		return all
	}
	return on
}

// loadLengths adds to each of the stations on the length of the straight from a to b that is nearer to it than to any other of
// them; of stations at one place the first takes it.
func loadLengths(pan *Panel, on []int, a, b plane.Point, lengths []float64) {
	total := a.Dist(b)
	for _, i := range on {
		st := pan.Stations[i]
		lo, hi := 0.0, 1.0
		for _, k := range on {
			other := pan.Stations[k]
			if other.At == st.At {
				if k < i {
					lo, hi = 1, 0
				}
				continue
			}
			mid, n := st.At.Lerp(other.At, 0.5), other.At.Sub(st.At)
			da, db := -a.Sub(mid).Dot(n), -b.Sub(mid).Dot(n)
			switch {
			case da < 0 && db < 0:
				lo, hi = 1, 0
			case da < 0:
				lo = max(lo, da/(da-db))
			case db < 0:
				hi = min(hi, da/(da-db))
			}
		}
		if hi > lo {
			lengths[i] += total * (hi - lo)
		}
	}
}
