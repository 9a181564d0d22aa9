package report

import (
	"math"

	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

func jsonPlanOf(p *setout.Plan, version string) jsonPlan {
	out := jsonPlan{
		Format: planFormat, Program: "panelwright " + version, Scope: Scope,
		Job: jsonJob{Name: p.Job.Name, File: p.Job.File, Date: p.Job.Date, Sample: p.Job.Sample, Paper: p.Job.Paper,
			Range: p.Job.RangeName, Notes: list(p.Job.Notes)},
		Panels: []jsonPanel{}, Order: []jsonOrder{}, Assumptions: []jsonAssumption{}, Cautions: []jsonCaution{},
		Faults: []jsonPlanFault{}, History: list(p.History),
	}
	for _, pan := range p.Panels {
		out.Panels = append(out.Panels, jsonPanelOf(p, pan, &out.Tally))
		for _, f := range pan.Faults {
			out.Faults = append(out.Faults, jsonPlanFault{Panel: pan.Job.Name, Check: "no-answer", Text: f})
		}
	}
	currency := ""
	if p.Job.Range != nil {
		currency = p.Job.Range.Currency
	}
	for _, l := range p.Order {
		out.Order = append(out.Order, jsonOrder{l.Kind, l.ID, l.Name, l.Need, l.Spare, l.Buy, l.PackSize, l.Packs,
			tidyFloat(l.Cost), currency, tidyFloat(grams(l.Mass)), list(l.ForPanels), l.Note})
	}
	for _, a := range p.Assumptions {
		out.Assumptions = append(out.Assumptions, jsonAssumption{a.ID, a.Text, a.Value, a.Source})
	}
	for _, c := range p.Cautions {
		out.Cautions = append(out.Cautions, jsonCaution{c.ID, c.Text, list(c.Panels)})
	}
	for _, f := range p.Judge {
		out.Faults = append(out.Faults, jsonPlanFault{f.Panel, f.Station, f.Check, f.Text})
	}
	return out
}

func jsonPanelOf(p *setout.Plan, pan *setout.Panel, tally *jsonTally) jsonPanel {
	out := jsonPanel{
		Name: pan.Job.Name, ID: pan.Job.ID, Quantity: pan.Job.Quantity, AreaMM2: tidyFloat(pan.Load.Area),
		Load: jsonLoad{PressurePa: num(pan.Load.Pressure * 1e6), MassKg: num(pan.Load.Mass * 1000),
			Cases: []jsonLoadCase{}, Note: pan.Load.Note},
		Choices: []jsonChoice{}, Stations: []jsonStation{}, Holes: []jsonHole{},
		Checks: jsonChecks(pan.Checks, tally), Cautions: list(pan.Cautions), Faults: list(pan.Faults),
	}
	for _, c := range pan.Load.Cases {
		out.Load.Cases = append(out.Load.Cases, jsonLoadCase{c.Name, num(c.Outward), num(c.InPlane), c.Formula})
	}
	index := map[*setout.Choice]int{}
	for i, c := range pan.Choices {
		index[c] = i
		out.Choices = append(out.Choices, jsonChoiceOf(c))
	}
	for _, st := range pan.Stations {
		s := jsonStationOf(st, tally)
		if i, ok := index[st.Choice]; ok {
			s.Choice = &i
		}
		out.Stations = append(out.Stations, s)
	}
	for _, h := range pan.Holes {
		out.Holes = append(out.Holes, jsonHoleOf(h))
	}
	out.Bearing = jsonBearingOf(p, pan)
	out.Survey = jsonSurveyOf(p, pan)
	out.Imported = jsonImportedOf(pan)
	if d := pan.DropOn; d != nil {
		out.DropOn = &jsonDropOn{d.Marking, num(d.Zone), num(d.Clear), num(d.Chance), num(d.Lo), num(d.Hi), d.Samples, d.Basis}
	}
	return out
}

func jsonChoiceOf(c *setout.Choice) jsonChoice {
	out := jsonChoice{Group: c.Group, Reason: c.Reason, RunnersUp: jsonRunners(c.Close), Rejected: jsonRunners(c.Rejected),
		PlateRivet: rivetID(c.PlateRivet), ReceptacleRivet: rivetID(c.ReceptacleRivet)}
	if c.Stud != nil {
		out.Stud = c.Stud.ID
	}
	if c.Plate != nil {
		out.Plate = c.Plate.ID
	}
	if c.Receptacle != nil {
		out.Receptacle = c.Receptacle.ID
	}
	if c.Shim != nil {
		out.Shim = c.Shim.ID
	}
	if c.ChanceKnown {
		out.Chance, out.WorstChance = num(c.Chance), num(c.WorstChance)
	}
	return out
}

func rivetID(r *stock.Rivet) string {
	if r == nil {
		return ""
	}
	return r.ID
}

func jsonRunners(rs []setout.RunnerUp) []jsonRunnerUp {
	out := []jsonRunnerUp{}
	for _, r := range rs {
		out = append(out, jsonRunnerUp{r.Stud, r.Plate, r.Receptacle, r.Shims, num(r.Chance), r.Why})
	}
	return out
}

func jsonStationOf(st *setout.Station, tally *jsonTally) jsonStation {
	out := jsonStation{
		ID: st.ID, XMM: tidyFloat(st.At.X), YMM: tidyFloat(st.At.Y), RivetLineDeg: tidyFloat(st.Dir * 180 / math.Pi),
		Edge: st.Edge, EdgeDistanceMM: num(st.EdgeDistance), Corner: st.Corner, Given: st.Given, Shims: st.Shims,
		Stack: jsonStackOf(st), Checks: jsonChecks(st.Checks, tally),
		Load: jsonStnLoad{num(st.Load.Area), num(st.Load.Outward), num(st.Load.Air), num(st.Load.Inertia),
			num(st.Load.SealPush), num(st.Load.InPlane), st.Load.Case},
	}
	if st.Support != nil {
		out.Support = st.Support.Name
	}
	if st.Edge != "" {
		out.TapeMM, out.InsetMM = num(st.Tape), num(st.TapeInset)
	}
	if st.Choice != nil {
		out.Close = jsonCloseOf(st.Close)
	}
	return out
}

func jsonStackOf(st *setout.Station) jsonStack {
	out := jsonStack{Measured: st.Stack.Measured, Layers: []jsonLayer{}}
	if len(st.Stack.Sum) > 0 {
		out.NominalMM, out.MeanMM, out.StdDevMM = num(st.Stack.Nom), num(st.Stack.Sum.Mean()), num(st.Stack.Sum.SD())
	}
	for _, t := range st.Stack.Terms {
		out.Layers = append(out.Layers, jsonLayer{t.Name, tidyFloat(t.Nom), t.Basis})
	}
	return out
}

func jsonCloseOf(c setout.Closing) *jsonClose {
	out := &jsonClose{
		ReachMM: num(c.R), DepthMM: num(c.H), ShimsMM: num(c.S), FreeWireMM: num(c.Z), DeflectionMM: num(c.Delta),
		DeflectionLoMM: num(c.DeltaLo), DeflectionHiMM: num(c.DeltaHi), LeastBy: c.LoBy, GreatestBy: c.HiBy,
		PreloadN: num(c.Preload), TurnNm: num(c.TurnTorque / 1000), UnlockNm: num(c.UnlockTorque / 1000),
		RunsBack: c.CamRunsBack, Cure: c.Cure,
	}
	if c.Known {
		out.ChanceWell, out.ChanceLoose, out.ChanceTight = num(c.Chance), num(c.Loose), num(c.Tight)
	}
	return out
}

func jsonChecks(checks []setout.Check, tally *jsonTally) []jsonCheck {
	out := []jsonCheck{}
	for _, k := range checks {
		c := jsonCheck{ID: k.ID, Name: k.Name, Verdict: k.Verdict.String(), Basis: k.Basis, Rests: list(k.Rests), Cure: k.Cure}
		if !k.NoNumber {
			c.Value, c.Limit, c.Unit, c.Margin = num(k.Value), num(k.Limit), k.Unit, num(k.Margin)
			c.Sense = "at most"
			if k.AtLeast {
				c.Sense = "at least"
			}
		}
		switch k.Verdict {
		case setout.Holds:
			tally.Holds++
		case setout.DoesNotHold:
			tally.Fails++
		default:
			tally.NotKnown++
			if k.Doubtful() {
				tally.Doubtful++
			}
		}
		out = append(out, c)
	}
	return out
}

func jsonHoleOf(h setout.Hole) jsonHole {
	out := jsonHole{
		No: h.No, Stage: h.Stage, Station: h.Station, Layer: h.Layer, Purpose: h.Purpose, Index: h.Index,
		XMM: tidyFloat(h.At.X), YMM: tidyFloat(h.At.Y), WantedMin: num(h.Wanted), WantedMax: num(h.WantedMax),
		NoDrill: h.NoDrill, Clamped: h.Clamped, Tool: h.Tool, Note: h.Note,
		NoNewHole: h.Operation, Cut: h.Cut,
	}
	if h.Drill != nil {
		out.Drill, out.DrillMM = h.Drill.Name, num(h.Drill.Diameter)
	}
	if h.Pilot != nil {
		out.Pilot = h.Pilot.Name
	}
	if h.RPM > 0 {
		out.RPM = num(h.RPM)
	}
	if h.Length > 0 {
		out.CutOut = &jsonCutOut{tidyFloat(h.Length), tidyFloat(h.Width), tidyFloat(h.Dir * 180 / math.Pi)}
	}
	if k := h.Countersink; k != nil {
		out.Countersink = &jsonCountersink{k.Face, k.AngleDeg, num(k.Diameter), num(k.Depth), num(k.RPM), k.Knife, k.Purpose}
	}
	return out
}

// list is never nil, so that JSON shows [] rather than null.
func list(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
