package decided

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
)

// Bear gives a panel a bearing made by hand, for the tests of what shows it: no mechanics, but every field filled, w in closed
// form by Deflection, two cases, of which the first is worst, and each station left out. dome is the height of the middle, mm.
func Bear(pan *setout.Panel, dome float64) {
	const cell = 20.0 // mm
	b := &setout.Bearing{Known: true, Thickness: pan.Job.Outer.Thickness.Nom, MeshSize: cell, LeastAngle: math.Pi / 4,
		Frequencies: []float64{31.4, 52.25, 77}}
	grid(b, pan.Job.Outline, cell)
	for _, line := range pan.SeatLines {
		name := line.Edge
		if name == "" {
			name = line.Support.Name
		}
		seat := seamOf(line.Support.Name, name, "seat line", line.Path)
		for i, st := range pan.Stations {
			if s, d, _ := line.Path.Nearest(st.At); d < 1 {
				seat.Stations = append(seat.Stations, setout.SeamMark{Station: i, S: s})
			}
		}
		b.Seams = append(b.Seams, seat)
		if line.Path.Closed {
			continue
		}
		if inner, err := line.Path.OffsetOpen(line.Support.Width / 2); err == nil {
			b.Seams = append(b.Seams, seamOf(line.Support.Name, name, "inner edge", inner))
		}
	}
	for c, share := range []float64{1, 0.6} {
		b.Cases = append(b.Cases, bearCase(pan, b, c, dome*share))
	}
	for k := range b.Seams {
		s := &b.Seams[k]
		s.Gap = make([][2]float64, len(s.At))
		for i := range s.At {
			s.Gap[i] = [2]float64{min(b.Cases[0].Gap[k][i], b.Cases[1].Gap[k][i]), max(b.Cases[0].Gap[k][i], b.Cases[1].Gap[k][i])}
		}
	}
	for i := range pan.Stations {
		m := setout.BearingMiss{Station: i, Case: 0, Held: i%3 != 1, Why: "every other wire stays within its limits", GapMax: dome * 0.4, GapAt: pan.Stations[i].At,
			Wire: 140 + float64(i), At: (i + 1) % len(pan.Stations), Valid: i%4 != 3}
		if !m.Held {
			m.Why, m.Gone = fmt.Sprintf("the wire at %s is pulled past its reach", pan.Stations[m.At].ID), []int{m.At}
		}
		b.Miss = append(b.Miss, m)
	}
	pan.Bearing = b
}

// Deflection is what Bear takes for w, mm: a dome over the panel, and an opening of a tenth of it away from the stations, less
// a little where the panel is pressed on.
func Deflection(pan *setout.Panel, dome float64, q plane.Point) float64 {
	box := pan.Job.Outline.Outer.Bounds()
	u, v := (q.X-box.Min.X)/box.Width(), (q.Y-box.Min.Y)/box.Height()
	near := math.Inf(1)
	for _, st := range pan.Stations {
		near = min(near, st.At.Dist(q))
	}
	return dome*(16*u*(1-u)*v*(1-v)+0.1*(1-math.Exp(-near*near/1e4))) - 0.02*dome
}

// grid fills the outline with squares, each cut in two; what does not lie wholly inside stays free.
func grid(b *setout.Bearing, region plane.Region, cell float64) {
	box := region.Bounds()
	nx, ny := int(math.Ceil(box.Width()/cell)), int(math.Ceil(box.Height()/cell))
	id := map[[2]int]int32{}
	node := func(i, k int) int32 {
		n, ok := id[[2]int{i, k}]
		if !ok {
			n = int32(len(b.Node))
			id[[2]int{i, k}] = n
			b.Node = append(b.Node, place(box, nx, ny, i, k))
		}
		return n
	}
	for k := range ny {
		for i := range nx {
			in := true
			for _, c := range [4][2]int{{i, k}, {i + 1, k}, {i + 1, k + 1}, {i, k + 1}} {
				in = in && region.Contains(place(box, nx, ny, c[0], c[1])) != plane.Outside
			}
			if in {
				a, c := node(i, k), node(i+1, k+1)
				b.Tris = append(b.Tris, [3]int32{a, node(i+1, k), c}, [3]int32{a, c, node(i, k+1)})
			}
		}
	}
	b.Nodes, b.Unknowns, b.Points = len(b.Node), 3*len(b.Node), 12
}

func place(box plane.Box, nx, ny, i, k int) plane.Point {
	return plane.Point{X: box.Min.X + box.Width()*float64(i)/float64(nx), Y: box.Min.Y + box.Height()*float64(k)/float64(ny)}
}

func seamOf(support, name, along string, path plane.Path) setout.Seam {
	s := setout.Seam{Support: support, Name: name, Along: along}
	n := int(math.Ceil(path.Length() / 10))
	for i := range n + 1 {
		at := path.Length() * float64(i) / float64(n)
		s.S, s.At = append(s.S, at), append(s.At, path.At(at))
	}
	return s
}

func bearCase(pan *setout.Panel, b *setout.Bearing, c int, dome float64) setout.BearingCase {
	out := setout.BearingCase{Name: fmt.Sprintf("made-up case %d", c+1), Load: 100 * dome, Reaction: -100 * dome, Balance: 2e-12, Moment: 3e-12,
		Certified: true, Iterations: 5, Sag: dome, Valid: dome <= b.Thickness/2, InTouch: 0.625, Stress: 12 * dome,
		StressAt: pan.Stations[0].At, StressKind: "greatest principal stress", GapMax: math.Inf(-1)}
	out.Reason = fmt.Sprintf("the panel bends by %.2f mm between its supports, half its thickness is %.2f mm", dome, b.Thickness/2)
	for _, q := range b.Node {
		w := Deflection(pan, dome, q)
		if w > out.WMax {
			out.WMax, out.WMaxAt = w, q
		}
		out.W = append(out.W, w)
	}
	for k, s := range b.Seams {
		var gap []float64
		for _, q := range s.At {
			w := Deflection(pan, dome, q)
			if w > out.GapMax {
				out.GapMax, out.GapSeam, out.GapAt = w, k, q
			}
			gap = append(gap, w)
		}
		out.Gap = append(out.Gap, gap)
	}
	sum := 0.0
	for i, st := range pan.Stations {
		wire := st.Close.Preload + float64(i)*dome
		sum += wire
		out.Wire, out.Open = append(out.Wire, wire), append(out.Open, i%3 == 2)
		out.Held = append(out.Held, out.Load/float64(len(pan.Stations))+float64(i%3)*dome)
	}
	out.Prying = sum - out.Load
	return out
}
