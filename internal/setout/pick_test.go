package setout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
	"panelwright/internal/worked"
)

// pickRange is an invented range: two families of ten reaches, plates outside and behind, receptacles of each mounting.
func pickRange() *stock.Range {
	r := worked.Range()
	r.Rivets = append(r.Rivets, stock.Rivet{ID: "sample-dome", Head: "dome", Diameter: 3.2, HoleMin: 3.3, HoleMax: 3.4, HeadDiameter: 6.4, HeadHeight: 1,
		GripMin: 1, GripMax: 6, Shear: 750, Tension: 1100, TailDiameter: 4.6, TailLength: 3, NoseDiameter: 9, Cost: 0.1, PackSize: 100})
	outside := r.Plates[0]
	outside.Cost = 2
	behind := outside
	behind.ID, behind.Face, behind.CountersinkDeg, behind.RivetIDs = "sample-plate-behind", stock.PlateBehind, 0, []string{"sample-csk", "sample-dome"}
	r.Plates = []stock.Plate{outside, behind}
	stud := r.Studs[0]
	r.Studs = nil
	for _, family := range []string{"sample-a", "sample-b"} {
		for n := range 10 {
			s := stud
			s.Family, s.Reach.Nom = family, 6+0.6*float64(n)
			s.ID = fmt.Sprintf("%s-%03.0f", family, 10*s.Reach.Nom)
			s.PlateIDs = []string{"sample-plate", "sample-plate-behind"}
			s.Cost, s.PackSize = 4, 10
			if family == "sample-b" {
				s.Head, s.Drive, s.Cost = "flush", "tool", 5
			}
			r.Studs = append(r.Studs, s)
		}
	}
	rec := r.Receptacles[0]
	r.Receptacles = nil
	for n := range 3 {
		a := rec
		a.Depth.Nom += 0.6 * float64(n)
		a.ID, a.StudFamilies, a.RivetIDs, a.Cost = fmt.Sprintf("sample-rec-%d", n+1), []string{"sample-a", "sample-b"}, []string{"sample-csk", "sample-dome"}, 3
		r.Receptacles = append(r.Receptacles, a)
	}
	weld := rec
	weld.ID, weld.Mount, weld.Fixing, weld.StudFamilies, weld.Depth.Nom = "sample-rec-weld", stock.FrontBesideSeat, stock.Welded, []string{"sample-a"}, 8
	weld.Rivets, weld.RivetIDs, weld.ShimIDs, weld.Welds = nil, nil, nil, 2
	front := rec
	front.ID, front.Mount, front.Depth.Nom, front.StudFamilies = "sample-rec-front", stock.FrontBesideSeat, 8, []string{"sample-a"}
	front.RivetIDs = []string{"sample-dome"}
	under := front
	under.ID, under.Mount = "sample-rec-under", stock.FrontUnderPanel
	r.Receptacles = append(r.Receptacles, weld, front, under)
	return r
}

func pickJob() *job.Job {
	j := worked.Job()
	j.Range = pickRange()
	return j
}

func pickPlan(j *job.Job) *Plan {
	p := NewPlan(j)
	Place(p)
	Pick(p)
	return p
}

// A shim and a thicker stack, mounting by mounting: behind tightens, on the front loosens, under the panel nothing.
func TestPickShimDirections(t *testing.T) {
	j := pickJob()
	lim := &j.Panels[0].Limits
	shim := &j.Range.Shims[0]
	for _, c := range []struct {
		rec  string
		sign float64
	}{{"sample-rec-1", 1}, {"sample-rec-front", -1}, {"sample-rec-under", 0}} {
		i := slices.IndexFunc(j.Range.Receptacles, func(r stock.Receptacle) bool { return r.ID == c.rec })
		pair := pickPair{&j.Range.Studs[3], &j.Range.Plates[0], &j.Range.Receptacles[i]}
		st := &Station{ID: "1", Support: j.Panels[0].Supports[0]}
		delta := func(n int, thick float64) (float64, float64) {
			j.Panels[0].Outer.Thickness.Nom = thick
			stack := StackOf(j.Panels[0], st, pair.plate.Face, pair.rec.Mount)
			k := pickClose(j, lim, pair, shim, n, &stack)
			return k.Delta, k.pair.DeltaSum(stack.Sum).Mean()
		}
		base, mean := delta(0, 2.5)
		if math.Abs(base-mean) > 1e-9 {
			t.Errorf("%s: nominal %g, mean %g", c.rec, base, mean)
		}
		one, mean := delta(1, 2.5)
		if math.Abs(one-base-c.sign*0.5) > 1e-9 || math.Abs(mean-one) > 1e-9 {
			t.Errorf("%s: a shim of 0.5 changes δ by %g", c.rec, one-base)
		}
		if thick, _ := delta(0, 3); math.Abs(thick-base-0.5) > 1e-9 {
			t.Errorf("%s: 0.5 mm more panel change δ by %g", c.rec, thick-base)
		}
	}
}

// Which layers count, by plate face and mounting.
func TestStackLayers(t *testing.T) {
	j := pickJob()
	pan := j.Panels[0]
	pan.Between = []job.Layer{{Name: "gasket", Thickness: job.Thickness{Nom: 0.7}}}
	own := &job.Support{Name: "own", Between: []job.Layer{}, Inner: &job.Layer{Name: "bar", Thickness: job.Thickness{Nom: 5}}}
	for _, c := range []struct {
		sup   *job.Support
		face  stock.Face
		mount stock.Mount
		want  float64
	}{
		{nil, stock.PlateOutside, stock.Behind, 2.5 + 0.7 + 2}, {nil, stock.PlateNone, stock.Behind, 2.5 + 0.7 + 2}, {nil, stock.PlateBehind, stock.Behind, 0.7 + 2},
		{nil, stock.PlateOutside, stock.FrontBesideSeat, 2.5 + 0.7}, {nil, stock.PlateBehind, stock.FrontUnderPanel, 0.7},
		{own, stock.PlateOutside, stock.Behind, 2.5 + 5}, {own, stock.PlateOutside, stock.FrontBesideSeat, 2.5},
	} {
		s := StackOf(pan, &Station{ID: "x", Support: c.sup}, c.face, c.mount)
		if math.Abs(s.Nom-c.want) > 1e-12 || math.Abs(s.Sum.Mean()-c.want) > 1e-12 {
			t.Errorf("%s, %s: %g, want %g", c.face, c.mount, s.Nom, c.want)
		}
	}
	pan.Measured = []job.MeasuredStack{{Station: "x", Thickness: job.Thickness{Nom: 6.1, StdUnc: 0.05, Readings: []float64{6.0, 6.2}}}}
	if s := StackOf(pan, &Station{ID: "x"}, stock.PlateOutside, stock.Behind); !s.Measured || s.Nom != 6.1 || s.Sum[0] != spread.NormalOf(6.1, 0.05) {
		t.Errorf("measured: %+v", s)
	}
}

// The chance against simulation from the raw numbers, for many pairs; 5 standard deviations of the simulation.
func TestPickChanceByDraws(t *testing.T) {
	j := pickJob()
	rng := rand.New(rand.NewPCG(7, 1))
	pan := j.Panels[0]
	const draws = 40_000
	for try := range 40 {
		pair := pickPair{&j.Range.Studs[rng.IntN(10)], &j.Range.Plates[rng.IntN(2)], &j.Range.Receptacles[rng.IntN(3)]}
		n := rng.IntN(3)
		st := &Station{ID: "1", Support: pan.Supports[0]}
		stack := StackOf(pan, st, pair.plate.Face, pair.rec.Mount)
		k := pickClose(j, &pan.Limits, pair, &j.Range.Shims[0], n, &stack)
		even := func(v stock.Toleranced) float64 { return v.Nom + v.Tol*(2*rng.Float64()-1) }
		hits := 0
		for range draws {
			z := pan.Inner.Thickness.Nom + pan.Inner.Thickness.Half*(2*rng.Float64()-1) + even(pair.rec.Depth)
			if pair.plate.Face != stock.PlateBehind {
				z += pan.Outer.Thickness.Nom + pan.Outer.Thickness.Half*(2*rng.Float64()-1)
			}
			for range n {
				z += even(j.Range.Shims[0].Thickness)
			}
			if d := z - even(pair.stud.Reach); k.DeltaLo <= d && d <= k.DeltaHi {
				hits++
			}
		}
		p := float64(hits) / draws
		if math.Abs(p-k.chance) > 5*math.Sqrt(k.chance*(1-k.chance)/draws)+5.0/draws {
			t.Errorf("try %d: chance %g, drawn %g", try, k.chance, p)
		}
		if math.Abs(k.chance+k.loose+k.tight-1) > 1e-12 {
			t.Errorf("try %d: %g + %g + %g", try, k.chance, k.loose, k.tight)
		}
	}
}

// A thicker panel is never looser, whatever the pair.
func TestPickThickerTighter(t *testing.T) {
	j := pickJob()
	pan := j.Panels[0]
	for _, pair := range pickPairs(j.Range, &job.Style{Plate: stock.PlateOutside}, pickMount{mount: stock.Behind}) {
		loose := math.Inf(1)
		for thick := 1.0; thick < 6; thick += 0.2 {
			pan.Outer.Thickness.Nom = thick
			stack := StackOf(pan, &Station{ID: "1"}, pair.plate.Face, pair.rec.Mount)
			k := pickClose(j, &pan.Limits, pair, nil, 0, &stack)
			if k.loose > loose+2*spread.Tolerance {
				t.Errorf("%s: at %g mm loose with %g, thinner %g", pair.id(), thick, k.loose, loose)
			}
			loose = k.loose
		}
	}
}

// The choice against trying everything: same mounting, one group, all stations alike.
func TestPickExhaustive(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for try := range 30 {
		j := pickJob()
		pan := j.Panels[0]
		pan.Outer.Thickness = job.Thickness{Nom: 1 + 2*rng.Float64(), Half: 0.4 * rng.Float64()} // within the rivets' grips
		pan.Inner.Thickness.Nom = 1.5 + rng.Float64()
		p := pickPlan(j)
		n := float64(len(p.Panels[0].Stations))
		type end struct {
			id           string
			chance, cost float64
			parts        int
		}
		var all []end
		for _, stud := range j.Range.Studs {
			for _, plate := range j.Range.Plates {
				if plate.Face == stock.PlateBehind {
					continue // nothing lies between the panels that would make room for it
				}
				for _, rec := range j.Range.Receptacles[:3] {
					for shims := 0; shims <= 2; shims++ { // at most 1 mm of 0.5 mm
						e := end{stud.ID + " " + plate.ID + " " + rec.ID, math.Pow(pickNaive(j, stud, plate, rec, shims), n), n * (stud.Cost + plate.Cost + rec.Cost), 3}
						if shims > 0 {
							e.parts++
						}
						all = append(all, e)
					}
				}
			}
		}
		best := 0.0
		for _, e := range all {
			best = math.Max(best, e.chance)
		}
		if best < 0.5 {
			continue
		}
		if len(p.Panels[0].Choices) == 0 {
			t.Fatalf("try %d: nothing chosen, the best has %g; %q", try, best, p.Panels[0].Faults)
		}
		c := p.Panels[0].Choices[0]
		if math.Abs(c.Chance-best) > pickTie+0.001 {
			t.Errorf("try %d: %s with %g, the best has %g", try, c.Stud.ID, c.Chance, best)
		}
		fewest := 9
		for _, e := range all {
			if e.chance >= best-pickTie {
				fewest = min(fewest, e.parts)
			}
		}
		if parts := 3 + min(1, p.Panels[0].Stations[0].Shims); parts > fewest {
			t.Errorf("try %d: %d parts where %d do", try, parts, fewest)
		}
	}
}

// pickNaive is the chance of one pair behind the inner panel from the formulas of docs/theory.md, written out.
func pickNaive(j *job.Job, stud stock.Stud, plate stock.Plate, rec stock.Receptacle, shims int) float64 {
	pan, c := j.Panels[0], &j.Conditions
	sum := spread.Sum{spread.RectangularAbout(pan.Inner.Thickness.Nom, pan.Inner.Thickness.Half), spread.RectangularAbout(rec.Depth.Nom, rec.Depth.Tol),
		spread.RectangularAbout(-stud.Reach.Nom, stud.Reach.Tol)}
	if plate.Face != stock.PlateBehind {
		sum = append(sum, spread.RectangularAbout(pan.Outer.Thickness.Nom, pan.Outer.Thickness.Half))
	}
	for range shims {
		sum = append(sum, spread.RectangularAbout(j.Range.Shims[0].Thickness.Nom, j.Range.Shims[0].Thickness.Tol))
	}
	k := rec.Rate
	lo := pan.Limits.PreloadMin.Value/(k.Nom-k.Tol) + c.Ageing.Value
	arm := stud.CamRadius*math.Tan(math.Atan(stud.CamLift/stud.CamRadius/(math.Pi/2))+math.Atan(c.Friction.Value)) + c.Friction.Value*stud.SeatRadius
	torque := c.ToolTorque.Value
	if stud.Drive == "hand" {
		torque = c.HandTorque.Value
	}
	force := math.Min(torque/arm, math.Min(stud.Rating, rec.Rating)/c.RatingFactor.Value)
	hi := math.Min(rec.DeflectionMax, force/(k.Nom+k.Tol)) - stud.Crest
	return sum.Chance(lo, math.Max(lo, hi))
}

// Common practice, no source: two panels measure 5.7 mm together; the range lists single thicknesses; the part listed for
// the nearest is chosen, and the chance is not known. The list is made for this test.
func TestPickNearestListed(t *testing.T) {
	j := pickJob()
	pan := j.Panels[0]
	pan.Outer.Thickness, pan.Inner.Thickness = job.Thickness{Nom: 3.2}, job.Thickness{Nom: 2.5}
	j.Range.Studs = j.Range.Studs[:4]
	for i, listed := range []float64{5.1, 5.6, 6.1, 6.6} {
		j.Range.Bands = append(j.Range.Bands, stock.Band{Stud: j.Range.Studs[i].ID, Plate: "sample-plate", Receptacle: "sample-rec-1", Single: listed})
		j.Range.Studs[i].Reach, j.Range.Studs[i].PlateIDs = stock.Toleranced{}, []string{"sample-plate"}
	}
	j.Range.Receptacles, j.Range.Rivets[0].GripMax = j.Range.Receptacles[:1], 9
	p := pickPlan(j)
	c := p.Panels[0].Choices[0]
	st := p.Panels[0].Stations[0]
	if c.Stud.ID != j.Range.Studs[1].ID || c.ChanceKnown || !math.IsNaN(c.Chance) || st.Close.Known || len(p.Panels[0].Faults) > 0 {
		t.Errorf("%s, known %v, faults %q", c.Stud.ID, c.ChanceKnown, p.Panels[0].Faults)
	}
	pan.Outer.Thickness.Nom = 5 // 7.5 mm: nothing is listed near that
	if p := pickPlan(j); len(p.Panels[0].Faults) != 1 || !strings.Contains(p.Panels[0].Faults[0], "0.90 mm off") {
		t.Errorf("faults %q", p.Panels[0].Faults)
	}
}

// The range's own bands override the formula; the chance is that of the stack to lie in the band.
func TestPickBands(t *testing.T) {
	j := pickJob()
	j.Range.Studs = j.Range.Studs[:2]
	j.Range.Receptacles, j.Panels[0].Style.Plate = j.Range.Receptacles[:1], stock.PlateOutside
	for i, from := range []float64{3.4, 4.15} {
		j.Range.Bands = append(j.Range.Bands, stock.Band{Stud: j.Range.Studs[i].ID, Receptacle: "sample-rec-1", Plate: "sample-plate", From: from, To: from + 1})
	}
	c := pickPlan(j).Panels[0].Choices[0]
	// T = 2.5 ± 0.3 + 2 ± 0.05: wholly within 4.15 to 5.15
	if c.Stud.ID != j.Range.Studs[1].ID || math.Abs(c.Chance-1) > 1e-9 {
		t.Errorf("%s with %g", c.Stud.ID, c.Chance)
	}
}

// Nothing fits: the fault says by how much, and a stud of the reach that it names does.
func TestPickNothingFits(t *testing.T) {
	j := pickJob()
	pan := j.Panels[0]
	pan.Outer.Thickness, pan.Style = job.Thickness{Nom: 14, Half: 0.2}, job.Style{Plate: stock.PlateOutside}
	j.Range.Rivets[0].GripMax = 20
	p := pickPlan(j)
	if len(p.Panels[0].Faults) != 1 {
		t.Fatalf("faults %q", p.Panels[0].Faults)
	}
	f := p.Panels[0].Faults[0]
	var reach float64
	if i := strings.Index(f, "a reach of "); i < 0 || !strings.Contains(f, "too tight at nominal thickness") {
		t.Fatalf("fault %q", f)
	} else if _, err := fmt.Sscanf(f[i:], "a reach of %f mm", &reach); err != nil {
		t.Fatal(err)
	}
	s := j.Range.Studs[0]
	s.ID, s.Reach.Nom = "sample-long", reach
	j.Range.Studs = append(j.Range.Studs, s)
	if p := pickPlan(j); len(p.Panels[0].Faults) > 0 || p.Panels[0].Choices[0].Stud.ID != "sample-long" {
		t.Errorf("with the reach named: %q, %s", p.Panels[0].Faults, p.Panels[0].Choices[0].Stud.ID)
	}
	for what, set := range map[string]func(){
		"no receptacle for this mounting": func() { pan.Supports[0].Mount, pan.Supports[0].Weld = stock.FrontUnderPanel, true },
		"none with the style asked for":   func() { pan.Style.Head = "winged" },
		"no rivet grips":                  func() { pan.Inner.Thickness.Nom = 9 },
		"behind, there is 5.00 mm":        func() { pan.Supports[0].Room = 5 },
	} {
		j = pickJob()
		pan = j.Panels[0]
		set()
		p := pickPlan(j)
		if got := strings.Join(p.Panels[0].Faults, "\n"); !strings.Contains(got, what) || len(p.Panels[0].Choices) > 0 {
			t.Errorf("want %q, got %q and %d choices", what, got, len(p.Panels[0].Choices))
		}
	}
}

// Two panels with stacks that several pairs close equally well share their part numbers.
func TestPickFewParts(t *testing.T) {
	j := pickJob()
	second := *j.Panels[0]
	second.ID, second.Name = "lid-2", "lid 2"
	j.Panels = append(j.Panels, &second)
	p := pickPlan(j)
	a, b := p.Panels[0].Choices[0], p.Panels[1].Choices[0]
	if a.Stud != b.Stud || a.Plate != b.Plate || a.Receptacle != b.Receptacle || a.ReceptacleRivet != b.ReceptacleRivet {
		t.Errorf("%s %s against %s %s", a.Stud.ID, a.Receptacle.ID, b.Stud.ID, b.Receptacle.ID)
	}
}

// The cure tells the way that the mounting works, and only what can be done: nobody shims a tight station with the receptacle
// behind, nor a loose one on the front, nor one on whose receptacle the panel rests; and nothing reads as inches.
func TestPickCure(t *testing.T) {
	put, take := "put a shim sample-shim", "take a shim out"
	for _, m := range []stock.Mount{stock.Behind, stock.FrontBesideSeat, stock.FrontUnderPanel} {
		for _, weld := range []bool{false, true} {
			j := pickJob()
			j.Panels[0].Supports[0].Mount, j.Panels[0].Supports[0].Weld = m, weld
			j.Panels[0].Limits.ChanceMin.Value = 0.1
			for _, st := range pickPlan(j).Panels[0].Stations {
				if st.Choice == nil {
					continue
				}
				loose, tight, ok := strings.Cut(strings.TrimPrefix(st.Close.Cure, "if loose: "), "; if tight: ")
				adds, takes := loose, tight
				if m == stock.FrontBesideSeat {
					adds, takes = tight, loose
				}
				bad := !ok || strings.Contains(takes, put) || strings.Contains(adds, take) || st.Shims == 0 && strings.Contains(takes, take)
				bad = bad || m == stock.FrontUnderPanel && strings.Contains(st.Close.Cure, "shim")
				bad = bad || m == stock.Behind && !weld && st.Shims == 0 && !strings.Contains(adds, put)
				bad = bad || strings.Contains(st.Close.Cure, " in)") || strings.Contains(st.Close.Cure, "cannot") || weld && strings.Contains(st.Close.Cure, "rivet")
				if bad {
					t.Errorf("%s, welded %v, %d shims: %q", m, weld, st.Shims, st.Close.Cure)
				}
			}
		}
	}
}

// Supports with layers of their own get parts of their own; alike ones share.
func TestPickGroups(t *testing.T) {
	j := placeJob(plane.Region{Outer: plane.Rectangle(1200, 800)}, []float64{1200, 2000, 3200, 4000})
	j.Range = pickRange()
	line := func(x float64) plane.Path {
		return plane.Open(plane.Point{X: x, Y: 150}, plane.Point{X: x, Y: 650})
	}
	same := j.Panels[0].Inner
	thick := j.Panels[0].Inner
	thick.Thickness.Nom = 4
	j.Panels[0].Supports = append(j.Panels[0].Supports, &job.Support{Name: "beam 1", Kind: "rib", Width: 40, Line: line(300), Inner: &thick},
		&job.Support{Name: "beam 2", Kind: "rib", Width: 40, Line: line(600), Inner: &thick}, &job.Support{Name: "beam 3", Kind: "rib", Width: 40, Line: line(900), Inner: &same})
	p := pickPlan(j)
	var groups []string
	for _, c := range p.Panels[0].Choices {
		groups = append(groups, c.Group)
	}
	if got := strings.Join(groups, ", "); got != "behind, behind · beam 1" {
		t.Errorf("groups %s", got)
	}
	for _, st := range p.Panels[0].Stations {
		if want := st.Support.Name == "beam 1" || st.Support.Name == "beam 2"; want != (st.Choice == p.Panels[0].Choices[1]) {
			t.Errorf("station %s on %s has %s", st.ID, st.Support.Name, st.Choice.Group)
		}
	}
}

func BenchmarkPick(b *testing.B) {
	p := NewPlan(pickJob())
	Place(p)
	for b.Loop() {
		Pick(p)
	}
}

// A plate behind the outer panel needs room between the panels: without it the pair is refused with a reason, with it taken.
func TestPickRoomBetween(t *testing.T) {
	j := pickJob()
	pan := j.Panels[0]
	pan.Style.Plate = stock.PlateBehind
	p := pickPlan(j)
	if len(p.Panels[0].Choices) > 0 || !strings.Contains(strings.Join(p.Panels[0].Faults, " "), "between the panels") {
		t.Errorf("no room between: %d choices, faults %q", len(p.Panels[0].Choices), p.Panels[0].Faults)
	}
	pan.Between = []job.Layer{{Name: "spacer", Material: pan.Inner.Material, Thickness: job.Thickness{Nom: 2, Half: 0.1}}}
	if p = pickPlan(j); len(p.Panels[0].Choices) == 0 || p.Panels[0].Choices[0].Plate.Face != stock.PlateBehind {
		t.Errorf("2 mm between: faults %q", p.Panels[0].Faults)
	}
}

// A stack measured at a station that the plan does not have is said, not lost.
func TestPickMeasuredNowhere(t *testing.T) {
	j := pickJob()
	j.Panels[0].Measured = []job.MeasuredStack{{Station: "60", Thickness: job.Thickness{Nom: 5, Half: 0.1}}}
	if p := pickPlan(j); !strings.Contains(strings.Join(p.Panels[0].Faults, " "), "station 60, which this plan does not have") {
		t.Errorf("faults %q", p.Panels[0].Faults)
	}
}

// A panel's own factor on ratings takes the place of the conditions'.
func TestDemandRatingFactor(t *testing.T) {
	j := pickJob()
	l := &j.Panels[0].Limits
	if got := DemandOf(j, l).RatingFactor; got != j.Conditions.RatingFactor.Value {
		t.Errorf("without its own: %g", got)
	}
	l.RatingFactor.Value = 2.5
	if got := DemandOf(j, l).RatingFactor; got != 2.5 {
		t.Errorf("its own 2.5: %g", got)
	}
}

// Where no rivet grips a joint, the grips on offer are said, each once, whatever heads and materials share them.
func TestPickRivetSaysGripsOnce(t *testing.T) {
	r := &stock.Range{}
	var ids []string
	for _, id := range []string{"sample-a", "sample-b", "sample-c"} {
		r.Rivets = append(r.Rivets, stock.Rivet{ID: id, GripMin: 1, GripMax: 3})
		ids = append(ids, id)
	}
	r.Rivets[2].GripMax = 4
	v, why := pickRivet(r, ids, pickJoint{what: "plate and outer panel", lo: 9, hi: 9, rank: func(*stock.Rivet) int { return 0 }})
	if want := "no rivet grips plate and outer panel, 9.00 mm thick (grips offered: 1.00 mm to 3.00 mm, 1.00 mm to 4.00 mm)"; v != nil || why != want {
		t.Errorf("%v, %q, want %q", v, why, want)
	}
}
