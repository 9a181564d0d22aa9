package setout

import (
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
)

// Outlines, flanges, ribs, cut-outs, keep-outs and wishes at random, sensible or not: every station that is placed has room
// and a true tape, or the panel has faults that say what is missing; nothing panics, and the loops end.
func TestPlaceWild(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 4))
	clean := 0
	const tries = 200
	for try := range tries {
		j := placeWild(rng)
		p := NewPlan(j)
		pan := p.Panels[0]
		if len(pan.Job.Outline.Outer.Facts()) > 0 || len(pan.Job.Outline.CutOutFaults()) > 0 {
			continue
		}
		for range 6 {
			Place(p)
			Pick(p)
			if _, again := Again(p); !again {
				break
			}
		}
		Load(p)
		if len(pan.Faults) > 0 {
			continue
		}
		clean++
		if len(pan.Stations) == 0 {
			continue
		}
		if placeHolds(t, pan); t.Failed() {
			t.Fatalf("try %d: %+v", try, pan.Job.Outline)
		}
		sum := 0.0
		for _, st := range pan.Stations {
			sum += st.Load.Area
		}
		if want := pan.Job.Outline.Area(); math.Abs(sum-want) > 1e-8*want {
			t.Fatalf("try %d: areas add up to %g, not %g", try, sum, want)
		}
	}
	if clean < tries/10 {
		t.Errorf("only %d of %d tries are without faults: the test tries little", clean, tries)
	}
}

func placeWild(rng *rand.Rand) *job.Job {
	var pts []plane.Point
	n := 3 + rng.IntN(6)
	for i := range n {
		r := 250 + 500*rng.Float64()
		a := 2 * math.Pi * (float64(i) + 0.6*rng.Float64()) / float64(n)
		pts = append(pts, plane.Point{X: 800 + r*math.Cos(a), Y: 800 + r*math.Sin(a)})
	}
	outer := plane.Polygon(pts...)
	for i := range outer.V {
		if rng.IntN(4) == 0 {
			outer.V[i].Bulge = 0.3 * (rng.Float64() - 0.3)
		}
	}
	radii := make([]float64, n)
	for i := range radii {
		radii[i] = float64(rng.IntN(3)) * 30
	}
	if q, err := plane.RoundCorners(plane.Polygon(pts...), radii); err == nil && rng.IntN(2) == 0 {
		outer = q
	}
	region := plane.Region{Outer: outer}
	if rng.IntN(2) == 0 {
		region.CutOuts = []plane.Path{plane.CircleAt(plane.Point{X: 800, Y: 800}, 20+150*rng.Float64()).Reverse()}
	}
	stretch := placeByEdges(outer)
	if rng.IntN(4) == 0 { // names that change anywhere
		stretch = nil
		for s := 0.0; s < outer.Length(); {
			s = math.Min(outer.Length(), s+30+700*rng.Float64())
			stretch = append(stretch, s)
		}
	}
	j := placeJob(region, stretch)
	p := j.Panels[0]
	p.Supports[0].Width = []float64{8, 30, 50, 90, 700}[rng.IntN(5)]
	p.Supports[0].Seal = &job.SealStrip{PushPerLength: 1}
	if rng.IntN(3) == 0 { // part of it on a support of its own
		k := rng.IntN(len(p.Edges))
		second := *p.Supports[0]
		second.Name, second.Edges, second.Width = "second", p.Supports[0].Edges[k:], 40
		p.Supports[0].Edges = p.Supports[0].Edges[:k]
		p.Supports = append(p.Supports, &second)
	}
	at := func() plane.Point { return plane.Point{X: 400 + 800*rng.Float64(), Y: 400 + 800*rng.Float64()} }
	if rng.IntN(3) == 0 {
		p.Supports = append(p.Supports, &job.Support{Name: "rib", Kind: "rib", Width: 40, Line: plane.Open(at(), at())})
	}
	for range rng.IntN(3) {
		p.KeepOuts = append(p.KeepOuts, job.KeepOut{Name: "tube", Region: plane.CircleAt(at(), 5+100*rng.Float64())})
	}
	switch rng.IntN(5) {
	case 0:
		p.Stations = job.StationsSpec{Mode: "count", Count: 1 + rng.IntN(40)}
	case 1:
		p.Stations = job.StationsSpec{Mode: "pitch", Pitch: 50 + 400*rng.Float64()}
	}
	if p.Stations.Mode == "pitch" {
		p.Limits.PitchMax.Value = p.Stations.Pitch
	}
	if rng.IntN(5) == 0 && p.Stations.Mode != "pitch" {
		p.Limits.PitchMax.Value = 40 // less than the least
	}
	return j
}

// On outlines with reflex corners no rivet in the flange comes nearer to the flange's inner edge than the source asks: there
// the seat line lies further from the outline than on a straight.
func TestPlaceReflexCorners(t *testing.T) {
	shapes := map[string][]plane.Point{
		"ell": {{X: 0, Y: 0}, {X: 600, Y: 0}, {X: 600, Y: 200}, {X: 250, Y: 200}, {X: 250, Y: 500}, {X: 0, Y: 500}},
		"tee": {{X: 0, Y: 0}, {X: 700, Y: 0}, {X: 700, Y: 200}, {X: 450, Y: 200}, {X: 450, Y: 600}, {X: 250, Y: 600}, {X: 250, Y: 200}, {X: 0, Y: 200}},
		"u":   {{X: 0, Y: 0}, {X: 700, Y: 0}, {X: 700, Y: 500}, {X: 500, Y: 500}, {X: 500, Y: 200}, {X: 200, Y: 200}, {X: 200, Y: 500}, {X: 0, Y: 500}},
	}
	for _, name := range assumeSorted(shapes) {
		for _, width := range []float64{36, 40, 50} {
			outer := plane.Polygon(shapes[name]...)
			j := placeJob(plane.Region{Outer: outer}, placeByEdges(outer))
			j.Panels[0].Supports[0].Width = width
			p := wholePlan(j)
			pan := p.Panels[0]
			if len(pan.Faults) > 0 || len(pan.Stations) < len(shapes[name]) {
				t.Fatalf("%s, %g mm: %d stations, faults %q", name, width, len(pan.Stations), pan.Faults)
			}
			for _, st := range pan.Stations {
				for _, h := range st.Choice.Receptacle.Rivets {
					d := pan.Job.Outline.Distance(st.At.Add(h.At.Rotate(st.Dir)))
					if need := placeEdgeCountersunk * st.Choice.ReceptacleRivet.Diameter; d < need-1e-6 || width-d < need-1e-6 {
						t.Errorf("%s, %g mm: station %s at %v: a rivet lies %g from one edge and %g from the other, needs %g", name, width, st.ID, st.At, d, width-d, need)
					}
				}
			}
		}
	}
}
