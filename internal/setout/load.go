package setout

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
)

// loadNote says what the estimate leaves out.
const loadNote = "tributary-area estimate: a station may in truth carry twice as much, since it knows no prying, no stiffness and no seam"

// Load estimates for every panel the total load in every case, and for every station the worst case on the area and the
// length of seal that are nearest to it. It needs placed stations. The areas add up to the panel's, the lengths to the seal's.
//
// Air: p = ½·ρ·v²·(C_p,inside − C_p,outside)·gust factor, or the pressure that the job gives, which takes no factor. Inertia:
// mass times acceleration; since the panel's attitude is not known, each direction's acceleration is taken both outwards and
// in the plane. The cases with air go with every acceleration, and each acceleration stands alone too, for air that presses
// the panel on must not be counted on.
func Load(p *Plan) {
	for _, pan := range p.Panels {
		loadPanel(p.Job, pan)
	}
}

// DynamicPressure is ½·ρ·v², MPa, of air of density rho (tonne/mm³) at speed v (mm/s).
func DynamicPressure(rho, v float64) float64 { return rho * v * v / 2 }

// loadAir returns the outward pressure (MPa) of the panel's air load, its name and its formula.
func loadAir(c *job.Conditions, l *job.Loads) (pressure float64, name, formula string) {
	if l.HasPressure {
		return l.Pressure, "given pressure", fmt.Sprintf("p = %s as given", measure.Pa(l.Pressure))
	}
	q := DynamicPressure(c.AirDensity.Value, c.TopSpeed.Value)
	pressure = q * (l.CpInside - l.CpOutside) * c.GustFactor.Value
	return pressure, "air at top speed", fmt.Sprintf("p = ½ρv²·(Cp,inside − Cp,outside)·gust = %s·(%+.2f − %+.2f)·%.2f = %s", measure.Pa(q), l.CpInside,
		l.CpOutside, c.GustFactor.Value, measure.Pa(pressure))
}

// loadMass returns the mass (tonne) of the outer panel per area (mm²) and whether its density is known.
func loadMass(pan *job.Panel) (perArea float64, known bool) {
	if m := pan.Outer.Material; m != nil && m.Rho > 0 {
		return m.Rho * pan.Outer.Thickness.Nom, true
	}
	return 0, false
}

// CaseLoad is a case with what it puts on area and mass.
type CaseLoad struct {
	Name, Formula string
	Pressure      float64 // MPa, outward
	Accel         float64 // mm/s², outward
}

// CasesOf lists the load cases of a panel: its air, then for each direction's acceleration with the air and alone.
func CasesOf(c *job.Conditions, l *job.Loads) []CaseLoad {
	p, name, formula := loadAir(c, l)
	out := []CaseLoad{{name, formula, p, 0}}
	for _, a := range []struct {
		name string
		set  job.Setting
	}{{"forward", c.AccelForward}, {"sideways", c.AccelSideways}, {"vertical", c.AccelVertical}} {
		g := measure.Gravity(a.set.Value)
		out = append(out,
			CaseLoad{name + " with acceleration " + a.name, fmt.Sprintf("%s; m·a with a = %s, outwards", formula, g), p, a.set.Value},
			CaseLoad{"acceleration " + a.name + " alone", fmt.Sprintf("m·a with a = %s, outwards", g), 0, a.set.Value})
	}
	return out
}

func loadPanel(j *job.Job, pan *Panel) {
	jp := pan.Job
	area := jp.Outline.Area()
	perArea, known := loadMass(jp)
	mass := perArea * area
	for _, m := range jp.Loads.Masses {
		mass += m.Mass
	}
	cases := CasesOf(&j.Conditions, &jp.Loads)
	pan.Load = LoadEstimate{Pressure: cases[0].Pressure, Area: area, Mass: mass, Note: loadNote}
	if !known {
		pan.Load.Note += "; the outer panel's density is not known, so its own mass is left out"
	}
	seal := 0.0
	for i := range pan.SeatLines {
		if s := pan.SeatLines[i].Support.Seal; s != nil {
			seal += s.PushPerLength * pan.SeatLines[i].Path.Length()
		}
	}
	for _, c := range cases {
		f := c.Formula
		if seal > 0 {
			f += fmt.Sprintf("; the seal pushes %s", measure.Newton(seal))
		}
		pan.Load.Cases = append(pan.Load.Cases, LoadCase{Name: c.Name, Outward: c.Pressure*area + c.Accel*mass + seal, InPlane: c.Accel * mass, Formula: f})
	}
	loadStations(pan, cases, perArea)
}

// loadStations shares the load among the stations.
func loadStations(pan *Panel, cases []CaseLoad, perArea float64) {
	if len(pan.Stations) == 0 {
		return
	}
	areas, push := loadAreas(pan), loadSealPush(pan)
	masses := make([]float64, len(pan.Stations))
	for _, m := range pan.Job.Loads.Masses {
		masses[loadNearest(pan, m.At)] += m.Mass
	}
	for i, st := range pan.Stations {
		mass := masses[i] + perArea*areas[i]
		st.Load = StationLoad{Area: areas[i], SealPush: push[i], Outward: math.Inf(-1)}
		for _, c := range cases {
			air, inertia := c.Pressure*areas[i], c.Accel*mass
			if out := air + inertia + push[i]; out > st.Load.Outward+placeSame {
				st.Load.Outward, st.Load.Air, st.Load.Inertia, st.Load.Case = out, air, inertia, c.Name
			}
			st.Load.InPlane = math.Max(st.Load.InPlane, inertia)
		}
	}
}

// loadNearest is the station nearest to a place, the first of several.
func loadNearest(pan *Panel, at plane.Point) int {
	best := 0
	for i, st := range pan.Stations {
		if st.At.Dist(at) < pan.Stations[best].At.Dist(at)-placeSame {
			best = i
		}
	}
	return best
}
