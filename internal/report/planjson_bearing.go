package report

import (
	"math"

	"panelwright/internal/setout"
)

// jsonBearing is a panel under load. The mesh and w at its nodes are not written: they serve pictures, and would be the most of
// the file.
type jsonBearing struct {
	Known            bool              `json:"known"`
	Why              string            `json:"why"`
	Off              bool              `json:"off"`
	ThicknessMM      *float64          `json:"thickness_mm"`
	Nodes            int               `json:"nodes"`
	Unknowns         int               `json:"unknowns"`
	Points           int               `json:"interface_points"`
	MeshEdgeMM       *float64          `json:"mesh_edge_mm"`
	LeastAngleDeg    *float64          `json:"least_angle_deg"`
	Worst            *int              `json:"worst_case"`
	Cases            []jsonBearingCase `json:"cases"`
	Seams            []jsonSeam        `json:"seams"`
	Missing          []jsonMissing     `json:"one_missing"`
	FrequenciesHz    []float64         `json:"natural_frequencies_Hz"`
	FrequenciesWords string            `json:"natural_frequencies_why"`
}

type jsonBearingCase struct {
	Name       string        `json:"name"`
	LoadN      *float64      `json:"load_N"`
	ReactionN  *float64      `json:"reaction_N"`
	Balance    *float64      `json:"force_out_of_balance"`
	Moment     *float64      `json:"moment_out_of_balance"`
	Certified  bool          `json:"certified"`
	Faults     []string      `json:"certificate_faults"`
	Iterations int           `json:"iterations"`
	InRange    bool          `json:"in_range"`
	Reason     string        `json:"range_why"`
	GreatestMM *float64      `json:"greatest_deflection_mm"`
	GreatestX  *float64      `json:"greatest_deflection_x_mm"`
	GreatestY  *float64      `json:"greatest_deflection_y_mm"`
	SagMM      *float64      `json:"between_supports_mm"`
	GapMM      *float64      `json:"greatest_gap_mm"`
	GapSeam    *int          `json:"greatest_gap_seam"`
	GapX       *float64      `json:"greatest_gap_x_mm"`
	GapY       *float64      `json:"greatest_gap_y_mm"`
	PryingN    *float64      `json:"prying_N"`
	PushN      *float64      `json:"supports_push_N"`
	InTouch    *float64      `json:"supports_in_touch"`
	StressMPa  *float64      `json:"greatest_stress_MPa"`
	StressX    *float64      `json:"greatest_stress_x_mm"`
	StressY    *float64      `json:"greatest_stress_y_mm"`
	StressKind string        `json:"stress_kind"`
	Wires      []jsonBearPin `json:"stations"`
}

type jsonBearPin struct {
	Station string   `json:"station"`
	WireN   *float64 `json:"wire_N"`
	LeastN  *float64 `json:"least_preload_N"`
	HeldN   *float64 `json:"load_held_N"`
	Open    bool     `json:"seat_open"`
}

type jsonSeam struct {
	Support    string   `json:"support"`
	Name       string   `json:"name"`
	Along      string   `json:"along"`
	LengthMM   *float64 `json:"length_mm"`
	LeastMM    *float64 `json:"least_gap_mm"`
	GreatestMM *float64 `json:"greatest_gap_mm"`
	AtMM       *float64 `json:"greatest_gap_along_mm"`
}

type jsonMissing struct {
	Station string   `json:"station"`
	Case    string   `json:"case"`
	InRange bool     `json:"in_range"`
	Held    bool     `json:"held"`
	Off     bool     `json:"off"`
	RamAir  bool     `json:"ram_air"`
	Why     string   `json:"why"`
	GapMM   *float64 `json:"greatest_gap_mm"`
	GapX    *float64 `json:"greatest_gap_x_mm"`
	GapY    *float64 `json:"greatest_gap_y_mm"`
	WireN   *float64 `json:"hardest_wire_N"`
	At      string   `json:"hardest_wire_station"`
	Gone    []string `json:"gone"`
}

// jsonBearingOf is nil when the model was not asked.
func jsonBearingOf(p *setout.Plan, pan *setout.Panel) *jsonBearing {
	b := pan.Bearing
	if b == nil {
		return nil
	}
	out := &jsonBearing{Known: b.Known, Why: b.Why, Off: b.Off, Cases: []jsonBearingCase{}, Seams: []jsonSeam{}, Missing: []jsonMissing{},
		FrequenciesHz: []float64{}, FrequenciesWords: b.FrequencyWhy}
	if !b.Known {
		return out
	}
	out.ThicknessMM, out.Nodes, out.Unknowns, out.Points = num(b.Thickness), b.Nodes, b.Unknowns, b.Points
	out.MeshEdgeMM, out.LeastAngleDeg = num(b.MeshSize), num(b.LeastAngle*180/math.Pi)
	if b.Worst >= 0 && b.Worst < len(b.Cases) {
		out.Worst = &b.Worst
	}
	for i := range b.Cases {
		out.Cases = append(out.Cases, jsonBearingCaseOf(p, pan, &b.Cases[i]))
	}
	for _, s := range b.Seams {
		out.Seams = append(out.Seams, jsonSeamOf(s))
	}
	for _, m := range b.Miss {
		out.Missing = append(out.Missing, jsonMissingOf(pan, m))
	}
	for _, f := range b.Frequencies {
		out.FrequenciesHz = append(out.FrequenciesHz, tidyFloat(f))
	}
	return out
}

func jsonBearingCaseOf(p *setout.Plan, pan *setout.Panel, c *setout.BearingCase) jsonBearingCase {
	out := jsonBearingCase{
		Name: c.Name, LoadN: num(c.Load), ReactionN: num(c.Reaction), Balance: num(c.Balance), Moment: num(c.Moment), Certified: c.Certified, Faults: list(c.CertificateFaults),
		Iterations: c.Iterations, InRange: c.Valid, Reason: c.Reason,
		GreatestMM: num(c.WMax), GreatestX: num(c.WMaxAt.X), GreatestY: num(c.WMaxAt.Y), SagMM: num(c.Sag),
		GapMM: num(c.GapMax), GapX: num(c.GapAt.X), GapY: num(c.GapAt.Y), PryingN: num(c.Prying), InTouch: num(c.InTouch),
		StressMPa: num(c.Stress), StressX: num(c.StressAt.X), StressY: num(c.StressAt.Y), StressKind: c.StressKind, Wires: []jsonBearPin{},
	}
	if c.GapSeam >= 0 && c.GapSeam < len(pan.Bearing.Seams) {
		out.GapSeam = &c.GapSeam
	}
	if len(c.Push) > 0 {
		sum := 0.0
		for _, f := range c.Push {
			sum += f
		}
		out.PushN = num(sum)
	}
	for i, st := range pan.Stations {
		if i < len(c.Wire) && i < len(c.Open) {
			pin := jsonBearPin{Station: st.ID, WireN: num(c.Wire[i]), LeastN: num(bearPreload(p, pan, i)), Open: c.Open[i]}
			if i < len(c.Held) {
				pin.HeldN = num(c.Held[i])
			}
			out.Wires = append(out.Wires, pin)
		}
	}
	return out
}

func jsonSeamOf(s setout.Seam) jsonSeam {
	out := jsonSeam{Support: s.Support, Name: s.Name, Along: s.Along}
	if n := len(s.S); n > 0 {
		out.LengthMM = num(s.S[n-1])
		if len(s.Gap) == n {
			least, greatest, at := seamEnds(s)
			out.LeastMM, out.GreatestMM, out.AtMM = num(least), num(greatest), num(s.S[at])
		}
	}
	return out
}

func jsonMissingOf(pan *setout.Panel, m setout.BearingMiss) jsonMissing {
	out := jsonMissing{Station: bearID(pan, m.Station), InRange: m.Valid, Held: m.Held, Off: m.Off, RamAir: m.RamAir, Why: m.Why, GapMM: num(m.GapMax),
		GapX: num(m.GapAt.X), GapY: num(m.GapAt.Y), WireN: num(m.Wire), At: bearID(pan, m.At), Gone: []string{}}
	if m.Case >= 0 && m.Case < len(pan.Bearing.Cases) {
		out.Case = pan.Bearing.Cases[m.Case].Name
	}
	for _, g := range m.Gone {
		out.Gone = append(out.Gone, bearID(pan, g))
	}
	return out
}

// bearID is a station's id, empty of none.
func bearID(pan *setout.Panel, i int) string {
	if i < 0 || i >= len(pan.Stations) {
		return ""
	}
	return pan.Stations[i].ID
}
