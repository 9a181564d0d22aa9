package setout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"panelwright/internal/job"
	"panelwright/internal/plane"
)

// Dynamic pressure of sea-level air, rho 1.225 kg/m³ (ISO 2533); the values are ½ρv² worked out by hand, COMPUTED.
func TestDynamicPressure(t *testing.T) {
	const rho = 1.225e-12                            // tonne/mm³
	for _, c := range []struct{ speed, pa float64 }{ // m/s, Pa
		{20, 245.0}, {30, 551.25}, {70 * 0.44704, 599.78}, {100 / 3.6, 472.61}, {120 / 3.6, 680.56}, {130 / 3.6, 798.71},
		{100 * 0.44704, 1224.05}, {200 / 3.6, 1890.43}, {150 * 0.44704, 2754.11}, {250 / 3.6, 2953.80},
	} {
		if got := DynamicPressure(rho, c.speed*1e3) * 1e6; math.Abs(got-c.pa) > 0.0051 { // printed to 0.01 Pa
			t.Errorf("%g m/s: %.4f Pa, want %.2f", c.speed, got, c.pa)
		}
	}
}

// loadScatter is a panel with stations anywhere, some of them on one spot.
func loadScatter(t testing.TB, region plane.Region, rng *rand.Rand, n int) *Panel {
	j := placeJob(region, placeByEdges(region.Outer))
	j.Panels[0].Supports[0].Seal = &job.SealStrip{PushPerLength: 0.35}
	pan := NewPlan(j).Panels[0]
	runs, faults, _ := placeLines(pan, map[*job.Support]placeFoot{})
	if len(faults) > 0 || len(runs) == 0 {
		t.Fatal(faults)
	}
	box := region.Bounds()
	for i := range n {
		at := plane.Point{X: box.Min.X + box.Width()*rng.Float64(), Y: box.Min.Y + box.Height()*rng.Float64()}
		if i > 0 && rng.IntN(6) == 0 {
			at = pan.Stations[rng.IntN(i)].At
		}
		pan.Stations = append(pan.Stations, &Station{ID: fmt.Sprint(i + 1), At: at})
	}
	return pan
}

// The areas of the stations add up to the panel's, the lengths of seal to the seal's, for any outline and any places.
func TestLoadSharesAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for name, s := range placeShapes(t) {
		for try := range 20 {
			pan := loadScatter(t, s.region, rng, 1+rng.IntN(30))
			sum := 0.0
			for _, a := range loadAreas(pan) {
				if a < 0 {
					t.Errorf("%s, try %d: area %g", name, try, a)
				}
				sum += a
			}
			if want := s.region.Area(); math.Abs(sum-want) > 1e-9*want {
				t.Errorf("%s, try %d: the areas add up to %g, the panel has %g", name, try, sum, want)
			}
			push, length := 0.0, 0.0
			for _, f := range loadSealPush(pan) {
				push += f
			}
			for _, l := range pan.SeatLines {
				length += l.Path.Length()
			}
			for i, st := range pan.Stations { // the even ones stand on the flange, the others on a rib without a seal
				if st.Support = pan.Job.Supports[0]; i%2 == 1 {
					st.Support = &job.Support{Name: "rib", Kind: "rib"}
				}
			}
			shared := 0.0
			for i, f := range loadSealPush(pan) {
				shared += f
				if i%2 == 1 && f != 0 {
					t.Errorf("%s, try %d: station %d on the rib holds %g of the flange's seal", name, try, i+1, f)
				}
			}
			if math.Abs(shared-push) > 1e-9*push {
				t.Errorf("%s, try %d: the flange's stations hold %g of a push of %g", name, try, shared, push)
			}
			if want := 0.35 * length; math.Abs(push-want) > 1e-9*want {
				t.Errorf("%s, try %d: the seal pushes %g, want %g", name, try, push, want)
			}
		}
	}
}

// Each share against counting the places of a fine grid that are nearest to the station.
func TestLoadAreasByGrid(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	for _, name := range []string{"trapezium", "ell", "rounded"} {
		region := placeShapes(t)[name].region
		pan := loadScatter(t, region, rng, 9)
		for i, st := range pan.Stations {
			st.At = st.At.Add(plane.Point{X: float64(i)}) // no two on one spot
		}
		got := loadAreas(pan)
		want := make([]float64, 9)
		const step = 4.0
		box := region.Bounds()
		for x := box.Min.X + step/2; x < box.Max.X; x += step {
			for y := box.Min.Y + step/2; y < box.Max.Y; y += step {
				if q := (plane.Point{X: x, Y: y}); region.Contains(q) == plane.Inside {
					want[loadNearest(pan, q)] += step * step
				}
			}
		}
		for i := range got {
			// The grid misses by its cells along the border: a length of a few hundred mm times half a step.
			if math.Abs(got[i]-want[i]) > 3000 {
				t.Errorf("%s, station %d: %g, the grid says %g", name, i+1, got[i], want[i])
			}
		}
	}
}

// One station carries everything: p = ½ρv²(Cp,i − Cp,o)·gust on the whole area, its mass and the lumped one, and the seal.
func TestLoadByHand(t *testing.T) {
	j := placeJob(plane.Region{Outer: plane.Rectangle(1000, 500)}, []float64{1000, 1500, 2500, 3000})
	c := &j.Conditions
	c.TopSpeed.Value, c.AirDensity.Value, c.GustFactor.Value = 30e3, 1.225e-12, 1.5
	c.AccelForward.Value, c.AccelVertical.Value = 9806.65, 2*9806.65
	p := NewPlan(j)
	pan := p.Panels[0]
	pan.Job.Loads = job.Loads{HasCp: true, CpOutside: -0.6, CpInside: 0.2, Masses: []job.LumpedMass{{Name: "lamp", Mass: 1e-3, At: plane.Point{X: 1, Y: 1}}}}
	pan.Stations = []*Station{{ID: "1", At: plane.Point{X: 30, Y: 30}}}
	Load(p)
	st := pan.Stations[0].Load
	air := 551.25e-6 * 0.8 * 1.5 * 500000                                        // N
	mass := pan.Job.Outer.Material.Rho*pan.Job.Outer.Thickness.Nom*500000 + 1e-3 // tonne
	for _, v := range []struct {
		what      string
		got, want float64
	}{{"air", st.Air, air}, {"inertia", st.Inertia, mass * 2 * 9806.65}, {"outward", st.Outward, air + mass*2*9806.65}, {"in plane", st.InPlane, mass * 2 * 9806.65},
		{"area", st.Area, 500000}, {"mass", pan.Load.Mass, mass}} {
		if math.Abs(v.got-v.want) > 1e-6*v.want {
			t.Errorf("%s: %g, want %g", v.what, v.got, v.want)
		}
	}
	if st.Case != "air at top speed with acceleration vertical" {
		t.Errorf("case %q", st.Case)
	}
	// Air that presses the panel on relieves nothing: the panel then stands and is shaken.
	pan.Job.Loads.CpOutside, pan.Job.Loads.CpInside = 0.5, 0
	Load(p)
	if st := pan.Stations[0].Load; st.Case != "acceleration vertical alone" || st.Air != 0 || math.Abs(st.Outward-mass*2*9806.65) > 1e-6 {
		t.Errorf("pressed on: %+v", st)
	}
	// A given pressure stands as it is, without the factor.
	pan.Job.Loads = job.Loads{HasPressure: true, Pressure: 1e-3}
	Load(p)
	if st := pan.Stations[0].Load; math.Abs(st.Air-500) > 1e-9 {
		t.Errorf("given: %+v", st)
	}
}

func BenchmarkLoad(b *testing.B) {
	j := placeJob(plane.Region{Outer: rounded(b, 1500, 900, 60)}, placeByEdges(rounded(b, 1500, 900, 60)))
	p := NewPlan(j)
	Place(p)
	for b.Loop() {
		Load(p)
	}
}
