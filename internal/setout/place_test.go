package setout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/worked"
)

// placeJob makes a job of one panel with the outline, one edge for each of the named stretches of it, and a flange 50 mm
// wide along those named in flange (all when empty).
func placeJob(outline plane.Region, stretch []float64, flange ...string) *job.Job {
	j := worked.Job()
	p := j.Panels[0]
	p.Outline, p.Edges, p.KeepOuts, p.Stations = outline, nil, nil, job.StationsSpec{Mode: "auto"}
	from := 0.0
	for i, to := range stretch {
		p.Edges = append(p.Edges, job.Edge{Name: fmt.Sprintf("edge %d", i+1), From: from, To: to})
		from = to
	}
	p.Supports = []*job.Support{{Name: "flange", Kind: "flange", Width: 50, Edges: flange}}
	if len(flange) == 0 {
		for _, e := range p.Edges {
			p.Supports[0].Edges = append(p.Supports[0].Edges, e.Name)
		}
	}
	p.Limits.PitchMax.Value = 250
	return j
}

// placeByEdges gives every straight edge of a path a name; an arc belongs to the straight before it.
func placeByEdges(p plane.Path) []float64 {
	var out []float64
	s := 0.0
	segs := p.Segs()
	for i, g := range segs {
		s += g.Length()
		if i+1 == len(segs) || !segs[i+1].IsArc() {
			out = append(out, s)
		}
	}
	return out
}

func placeRun1(j *job.Job) *Panel {
	p := NewPlan(j)
	Place(p)
	return p.Panels[0]
}

func rounded(t testing.TB, w, h, r float64) plane.Path {
	p, err := plane.RoundedRectangle(w, h, r)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// placeShapes are the outlines that the properties are tried on; axis is the x of an upright axis of symmetry, NaN: none.
func placeShapes(t testing.TB) map[string]struct {
	region plane.Region
	axis   float64
} {
	type shape = struct {
		region plane.Region
		axis   float64
	}
	cut := plane.CircleAt(plane.Point{X: 500, Y: 300}, 80)
	ell := plane.Polygon(plane.Point{}, plane.Point{X: 900}, plane.Point{X: 900, Y: 400}, plane.Point{X: 400, Y: 400}, plane.Point{X: 400, Y: 800}, plane.Point{Y: 800})
	return map[string]shape{
		"rectangle":   {plane.Region{Outer: plane.Rectangle(1200, 800)}, 600},
		"square":      {plane.Region{Outer: plane.Rectangle(700, 700)}, 350},
		"rounded":     {plane.Region{Outer: rounded(t, 965.2, 698.5, 63.5)}, 482.6},
		"wide radius": {plane.Region{Outer: rounded(t, 1500, 900, 300)}, 750},
		"trapezium":   {plane.Region{Outer: plane.Trapezium(1000, 700, 600, 0), CutOuts: []plane.Path{cut.Reverse()}}, 500},
		"ell":         {plane.Region{Outer: ell}, math.NaN()},
		"disc":        {plane.Region{Outer: plane.CircleAt(plane.Point{X: 300, Y: 300}, 300)}, math.NaN()},
	}
}

// Every layout: no faults, corners taken, stations on their line, pitches within limits, room for the parts, tapes true.
func TestPlaceProperties(t *testing.T) {
	for name, s := range placeShapes(t) {
		t.Run(name, func(t *testing.T) {
			pan := placeRun1(placeJob(s.region, placeByEdges(s.region.Outer)))
			placeHolds(t, pan)
			if len(pan.Faults) > 0 {
				t.Errorf("faults: %q", pan.Faults)
			}
			if !math.IsNaN(s.axis) {
				placeSymmetric(t, pan, s.axis)
			}
		})
	}
}

// placeHolds checks what must hold of every layout, whatever the faults.
func placeHolds(t *testing.T, pan *Panel) {
	t.Helper()
	l := &pan.Job.Limits
	if len(pan.Stations) == 0 {
		t.Fatal("no stations")
	}
	for i, st := range pan.Stations {
		if d := pan.Job.Outline.Distance(st.At); math.Abs(d-st.EdgeDistance) > 1e-9 {
			t.Errorf("station %s: edge distance %g, said to be %g", st.ID, d, st.EdgeDistance)
		}
		if short, why := placeRoom(pan.Job, pan.placedFor[st.Support], st.At, st.Dir); short > 0 {
			t.Errorf("station %s at %v has no room: %g, %s", st.ID, st.At, short, why)
		}
		on := math.Inf(1)
		for _, line := range pan.SeatLines {
			_, d, _ := line.Path.Nearest(st.At)
			on = math.Min(on, d)
		}
		if on > 1e-6 {
			t.Errorf("station %s stands %g off every seat line", st.ID, on)
		}
		placeTapeTrue(t, pan, st)
		for _, other := range pan.Stations[i+1:] {
			if d := st.At.Dist(other.At); d < l.PitchMin.Value-0.01 {
				t.Errorf("stations %s and %s stand %g apart", st.ID, other.ID, d)
			}
		}
	}
	if len(pan.placeFaults) > 0 {
		return
	}
	for _, line := range pan.SeatLines {
		var along []float64
		for _, st := range pan.Stations {
			if s, d, _ := line.Path.Nearest(st.At); d < 1e-6 {
				along = append(along, s)
			}
		}
		if len(along) == 0 {
			if line.Path.Length() > l.PitchMax.Value {
				t.Errorf("%s: %g mm of seat line without a station", line.Edge, line.Path.Length())
			}
			continue
		}
		along = placeSorted(along)
		for i := 1; i < len(along); i++ {
			if d := along[i] - along[i-1]; d > l.PitchMax.Value+0.01 {
				t.Errorf("%s: a pitch of %g", line.Edge, d)
			}
		}
	}
}

func placeSorted(v []float64) []float64 {
	for i := range v {
		for k := i; k > 0 && v[k] < v[k-1]; k-- {
			v[k], v[k-1] = v[k-1], v[k]
		}
	}
	return v
}

// placeTapeTrue walks the tape: along the edge, then square to it.
func placeTapeTrue(t *testing.T, pan *Panel, st *Station) {
	t.Helper()
	for _, e := range pan.Job.Edges {
		if e.Name != st.Edge {
			continue
		}
		side := pan.Job.Outline.Outer.SubPath(e.From, e.To)
		n := side.Length()
		along := side.Tangent(math.Min(st.Tape, n))
		foot := side.At(math.Min(st.Tape, n)).Add(along.Scale(math.Max(0, st.Tape-n)))
		in := along.Perp()
		if d := foot.Add(in.Scale(st.TapeInset)).Dist(st.At); d > 1e-6 {
			t.Errorf("station %s: the tape (%s, %g, %g) ends %g away", st.ID, st.Edge, st.Tape, st.TapeInset, d)
		}
		return
	}
	t.Errorf("station %s: no edge %q", st.ID, st.Edge)
}

// placeSymmetric checks that every station has its image on the other side of the upright axis.
func placeSymmetric(t *testing.T, pan *Panel, axis float64) {
	t.Helper()
	for _, st := range pan.Stations {
		image := plane.Point{X: 2*axis - st.At.X, Y: st.At.Y}
		best := math.Inf(1)
		for _, other := range pan.Stations {
			best = math.Min(best, other.At.Dist(image))
		}
		if best > 0.01 {
			t.Errorf("station %s at %v has no image: %g off", st.ID, st.At, best)
		}
	}
}

// A keep-out in the middle of an edge leaves a symmetric panel symmetric, however wide it is.
func TestPlaceKeepOutSymmetric(t *testing.T) {
	for half := 1.0; half < 100; half += 7 {
		j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
		j.Panels[0].KeepOuts = []job.KeepOut{{Name: "lamp", Region: plane.Polygon(plane.Point{X: 600 - half}, plane.Point{X: 600 + half},
			plane.Point{X: 600 + half, Y: 60}, plane.Point{X: 600 - half, Y: 60})}}
		pan := placeRun1(j)
		placeHolds(t, pan)
		placeSymmetric(t, pan, 600)
		if len(pan.Faults) > 0 {
			t.Errorf("half %g: %q", half, pan.Faults)
		}
	}
}

// Keep-outs at random: every station is clear of them, or the panel says what is missing.
func TestPlaceKeepOutsRandom(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	faults := 0
	for n := range 60 {
		j := placeJob(plane.Region{Outer: rounded(t, 1000, 700, 40)}, placeByEdges(rounded(t, 1000, 700, 40)))
		for k := range 3 {
			c := plane.Point{X: 1000 * rng.Float64(), Y: 700 * rng.Float64()}
			j.Panels[0].KeepOuts = append(j.Panels[0].KeepOuts, job.KeepOut{Name: fmt.Sprintf("tube %d", k), Region: plane.CircleAt(c, 10+120*rng.Float64())})
		}
		pan := placeRun1(j)
		if len(pan.Faults) > 0 {
			faults++
			for _, f := range pan.Faults {
				if !strings.Contains(f, "mm") {
					t.Errorf("try %d: %q names no length", n, f)
				}
			}
			continue
		}
		placeHolds(t, pan)
		for _, st := range pan.Stations {
			for _, k := range pan.Job.KeepOuts {
				if _, d, _ := k.Region.Nearest(st.At); d < 20-1e-6 || k.Region.Contains(st.At) == plane.Inside {
					t.Errorf("try %d: station %s stands %g from %s", n, st.ID, d, k.Name)
				}
			}
		}
	}
	if faults == 0 || faults == 60 {
		t.Errorf("%d of 60 tries have faults: the test tries nothing", faults)
	}
}

// Turned and moved, a panel gets the same stations.
func TestPlaceTurns(t *testing.T) {
	for name, s := range placeShapes(t) {
		plain := placeRun1(placeJob(s.region, placeByEdges(s.region.Outer)))
		move := plane.Turn(0.7, plane.Point{}).Then(plane.Move(plane.Point{X: -340, Y: 77}))
		turned := s.region.Transform(move)
		other := placeRun1(placeJob(turned, placeByEdges(turned.Outer)))
		if len(other.Stations) != len(plain.Stations) {
			t.Errorf("%s: %d stations, turned %d", name, len(plain.Stations), len(other.Stations))
			continue
		}
		for i, st := range plain.Stations {
			if d := move.Apply(st.At).Dist(other.Stations[i].At); d > 0.01 {
				t.Errorf("%s: station %s moves by %g", name, st.ID, d)
			}
		}
	}
}

// The rectangle by hand: inset 25, corners at (25, 25) …, the long sides 1150 in five pitches of 230, the short 750 in three.
func TestPlaceRectangle(t *testing.T) {
	pan := placeRun1(placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000}))
	var got []string
	for _, st := range pan.Stations {
		got = append(got, fmt.Sprintf("%s %.0f,%.0f %s %.0f", st.ID, st.At.X, st.At.Y, st.Edge, st.Tape))
	}
	want := "1 25,25 edge 1 25|2 255,25 edge 1 255|3 485,25 edge 1 485|4 715,25 edge 1 715|5 945,25 edge 1 945|" +
		"6 1175,25 edge 2 25|7 1175,275 edge 2 275|8 1175,525 edge 2 525|9 1175,775 edge 3 25|10 945,775 edge 3 255|" +
		"11 715,775 edge 3 485|12 485,775 edge 3 715|13 255,775 edge 3 945|14 25,775 edge 4 25|15 25,525 edge 4 275|16 25,275 edge 4 525"
	if s := strings.Join(got, "|"); s != want {
		t.Errorf("got  %s\nwant %s", s, want)
	}
	for _, i := range []int{0, 5, 8, 13} {
		if !pan.Stations[i].Corner {
			t.Errorf("station %s is a corner", pan.Stations[i].ID)
		}
	}
}

// Names of edges that change in the middle of a rounded corner change nothing about the stations.
func TestPlaceNamesWithinCorners(t *testing.T) {
	for _, radius := range []float64{15, 63.5, 120, 300} {
		p := rounded(t, 965.2, 698.5, radius)
		plain := placeRun1(placeJob(plane.Region{Outer: p}, placeByEdges(p)))
		var stretch []float64
		s := 0.0
		for _, g := range p.Segs() {
			s += g.Length()
			if g.IsArc() {
				stretch = append(stretch, s-g.Length()/2)
			}
		}
		j := placeJob(plane.Region{Outer: p}, stretch)
		// The last edge ends past the outline's first vertex, where it is named in two stretches of one name.
		j.Panels[0].Edges = append(j.Panels[0].Edges, job.Edge{Name: "rest", From: stretch[len(stretch)-1], To: s})
		j.Panels[0].Supports[0].Edges = append(j.Panels[0].Supports[0].Edges, "rest")
		other := placeRun1(j)
		placeHolds(t, other)
		placeSymmetric(t, other, 482.6)
		if len(other.Stations) != len(plain.Stations) {
			t.Errorf("radius %g: %d stations, %d with plain names", radius, len(other.Stations), len(plain.Stations))
			continue
		}
		for _, st := range plain.Stations {
			best := math.Inf(1)
			for _, q := range other.Stations {
				best = math.Min(best, q.At.Dist(st.At))
			}
			if best > 0.01 {
				t.Errorf("radius %g: no station at %v, %g off", radius, st.At, best)
			}
		}
	}
}

// A flange along two sides only: ends of the line keep clear of the sides without a flange.
func TestPlaceOpenFlange(t *testing.T) {
	pan := placeRun1(placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000}, "edge 1", "edge 2"))
	placeHolds(t, pan)
	if len(pan.Faults) > 0 || len(pan.SeatLines) != 2 {
		t.Fatalf("%d lines, faults %q", len(pan.SeatLines), pan.Faults)
	}
	first, last := pan.Stations[0], pan.Stations[len(pan.Stations)-1]
	if first.At.X < 9 || first.At.X > 25 || first.At.Y != 25 || last.At.X != 1175 || last.At.Y > 791 || last.At.Y < 775 {
		t.Errorf("the ends stand at %v and %v", first.At, last.At)
	}
}

// A rib gets its own stations after the flange's, clear of them by the least pitch.
func TestPlaceRib(t *testing.T) {
	j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
	j.Panels[0].Supports = append(j.Panels[0].Supports, &job.Support{Name: "beam", Kind: "rib", Width: 40,
		Line: plane.Open(plane.Point{X: 600, Y: 20}, plane.Point{X: 600, Y: 780})})
	pan := placeRun1(j)
	placeHolds(t, pan)
	n := 0
	for i, st := range pan.Stations {
		if st.Support.Name == "beam" {
			if y := st.At.Y; y < 20+14+2*3.3-1e-3 || y > 780-14-2*3.3+1e-3 { // rivets 14 mm out keep 2 D of their holes to the rib's end
				t.Errorf("station %s at %v hangs over the rib's end", st.ID, st.At)
			}
			n++
			if i < 16 {
				t.Errorf("the rib's station %s comes before the flange's", st.ID)
			}
		}
	}
	if n < 3 || len(pan.Faults) > 0 {
		t.Errorf("%d stations on the rib, faults %q", n, pan.Faults)
	}
}

// Counts from too few to too many: what can be done is done with exactly that many, the rest is refused with numbers.
func TestPlaceCount(t *testing.T) {
	for n := 1; n < 70; n++ {
		j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
		j.Panels[0].Stations = job.StationsSpec{Mode: "count", Count: n}
		pan := placeRun1(j)
		can := n >= 16 && n <= 4+2*18+2*11 // least pitch 60 on 1150 and 750 mm
		if can != (len(pan.Faults) == 0) {
			t.Errorf("%d: faults %q", n, pan.Faults)
		}
		if can && len(pan.Stations) != n {
			t.Errorf("%d asked, %d placed", n, len(pan.Stations))
		}
		if can {
			placeHolds(t, pan)
		}
	}
}

// The share by largest remainder against brute force: among all shares within the bounds, none lies nearer to the quotas.
func TestPlaceShare(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	for try := range 2000 {
		w := make([]float64, 1+rng.IntN(4))
		lo, hi := make([]int, len(w)), make([]int, len(w))
		least, most := 0, 0
		for i := range w {
			w[i] = 1 + 9*rng.Float64()
			lo[i] = rng.IntN(3)
			hi[i] = lo[i] + rng.IntN(5)
			least, most = least+lo[i], most+hi[i]
		}
		n := least + rng.IntN(most-least+1)
		got := placeShare(n, w, lo, hi)
		sum, free := 0, true
		for i, g := range got {
			sum += g
			if g < lo[i] || g > hi[i] {
				t.Fatalf("try %d: share %v outside %v to %v", try, got, lo, hi)
			}
			free = free && g > lo[i] && g < hi[i]
		}
		if sum != n {
			t.Fatalf("try %d: %v adds up to %d, not %d", try, got, sum, n)
		}
		if free && placeOff(got, w, n) > placeBest(n, w, lo, hi)+1e-9 {
			t.Errorf("try %d: %v of %d by %v is not the nearest", try, got, n, w)
		}
	}
}

func placeOff(share []int, w []float64, n int) float64 {
	total, off := 0.0, 0.0
	for _, v := range w {
		total += v
	}
	for i, v := range w {
		off += math.Pow(float64(share[i])-float64(n)*v/total, 2)
	}
	return off
}

func placeBest(n int, w []float64, lo, hi []int) float64 {
	best := math.Inf(1)
	share := make([]int, len(w))
	var try func(i, left int)
	try = func(i, left int) {
		if i == len(w) {
			if left == 0 {
				best = math.Min(best, placeOff(share, w, n))
			}
			return
		}
		for k := lo[i]; k <= hi[i] && k <= left; k++ {
			share[i] = k
			try(i+1, left-k)
		}
	}
	try(0, n)
	return best
}

// Another number of stations than was asked for is a fault that says both, and the choice says it too.
func TestPlaceCountNotMet(t *testing.T) {
	for _, count := range []int{2, 400} {
		j := pickJob()
		j.Panels[0].Stations = job.StationsSpec{Mode: "count", Count: count}
		pan := pickPlan(j).Panels[0]
		said := fmt.Sprintf("%d stations are asked for", count)
		if n := len(pan.Stations); len(pan.Faults) == 0 || !strings.HasPrefix(pan.Faults[0], said) || !strings.HasSuffix(pan.Faults[0], fmt.Sprintf("set out are %d instead", n)) {
			t.Errorf("%d stations, faults %q", n, pan.Faults)
		}
		if r := pan.Choices[0].Reason; !strings.Contains(r, said) {
			t.Errorf("reason %q", r)
		}
	}
}

// A keep-out over a whole seat line is named as that, not as some room that is missing.
func TestPlaceKeepOutCovers(t *testing.T) {
	j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
	j.Panels[0].KeepOuts = []job.KeepOut{{Name: "tank", Region: plane.Rectangle(1200, 800)}}
	pan := placeRun1(j)
	if len(pan.Faults) != 1 || !strings.Contains(pan.Faults[0], "keep-out tank covers the whole seat line of flange") || len(pan.Stations) != 0 {
		t.Errorf("%d stations, faults %q", len(pan.Stations), pan.Faults)
	}
}

// Given stations stay, and one beside every support is named.
func TestPlaceGiven(t *testing.T) {
	j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
	at := []plane.Point{{X: 33, Y: 31}, {X: 600, Y: 20}, {X: 600, Y: 400}, {X: 1170, Y: 400}}
	j.Panels[0].Stations = job.StationsSpec{Mode: "given", Given: []job.GivenStation{{At: at[0]}, {At: at[1], ID: "1"}, {At: at[2]}, {At: at[3], Edge: "edge 1"}}}
	pan := placeRun1(j)
	for i, id := range []string{"2", "1", "3", "4"} {
		if st := pan.Stations[i]; st.At != at[i] || st.ID != id || !st.Given {
			t.Errorf("station %d is %+v", i, st)
		}
	}
	if len(pan.Faults) != 1 || !strings.Contains(pan.Faults[0], "given as number 3 stands 375.0 mm from the middle of flange") {
		t.Errorf("faults %q", pan.Faults)
	}
}

// Parts that need more room move the stations in, once, and then it settles.
func TestAgain(t *testing.T) {
	j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
	j.Panels[0].Supports[0].Width = 12
	small := j.Range.Plates[0]
	small.ID, small.Length, small.Width = "sample-small", 20, 8
	j.Range.Plates = append(j.Range.Plates, small) // no stud takes it
	p := NewPlan(j)
	rounds := 0
	for ; rounds < 6; rounds++ {
		Place(p)
		Pick(p)
		if _, again := Again(p); !again {
			break
		}
	}
	if rounds > 2 {
		t.Errorf("%d rounds", rounds)
	}
	pan := p.Panels[0]
	placeHolds(t, pan)
	if d := pan.Stations[1].EdgeDistance; math.Abs(d-9) > 1e-9 { // half of the plate's 18 mm; 2.5 × 3.2 mm is less
		t.Errorf("edge distance %g", d)
	}
	if !strings.Contains(strings.Join(p.History, "\n"), "9.00 mm from the edge instead of 6.00 mm") {
		t.Errorf("history %q", p.History)
	}
}

func BenchmarkPlace(b *testing.B) {
	j := placeJob(plane.Region{Outer: rounded(b, 1500, 900, 60)}, placeByEdges(rounded(b, 1500, 900, 60)))
	j.Panels[0].KeepOuts = []job.KeepOut{{Name: "lamp", Region: plane.CircleAt(plane.Point{X: 750, Y: 25}, 90)}}
	p := NewPlan(j)
	for b.Loop() {
		Place(p)
	}
}
