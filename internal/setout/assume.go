package setout

import (
	"fmt"
	"slices"
	"sort"

	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/measure"
)

// The ids of what results rest on. Check.Rests names them; Finish lists those that the plan used, with value and source.
const (
	RestsTopSpeed        = "top-speed"
	RestsAirDensity      = "air-density"
	RestsPressureCoeff   = "pressure-coefficients"
	RestsGustFactor      = "gust-factor"
	RestsAcceleration    = "acceleration"
	RestsOrientation     = "panel-orientation"    // which way the panel faces is not known
	RestsTemperature     = "temperature"          // range, and at fitting
	RestsRatingFactor    = "rating-factor"        // on parts' ratings
	RestsJointFactor     = "joint-factor"         // on computed part strengths
	RestsFriction        = "friction"             // of cam and head
	RestsHandTorque      = "hand-torque"          // that a hand can turn
	RestsToolTorque      = "tool-torque"          // that a driver in a hand can turn
	RestsDriverPush      = "driver-push"          // of the fitter on the driver
	RestsAgeing          = "ageing"               // of wire, laminate and seal
	RestsMarking         = "marking"              // how holes are marked out
	RestsTemplateZone    = "template-zone"        // position error from a paper template
	RestsJigZone         = "jig-zone"             // from a jig
	RestsMatchZone       = "match-zone"           // from match drilling
	RestsHoleFit         = "hole-fit"             // excess of a hole over what is wanted
	RestsLocateExcess    = "locate-excess"        // excess of the hole that locates the panels
	RestsSpareShare      = "spare-share"          // parts bought as spares
	RestsTributaryArea   = "tributary-area"       // loads per station are an estimate
	RestsPanelModel      = "panel-model"          // flat, linear, rigid supports, wires at their low end
	RestsIndependent     = "independent-stations" // chances multiply
	RestsRectangular     = "limits-rectangular"   // JCGM 100:2008 4.3.7
	RestsSpreadDefault   = "spread-default"       // thicknesses without stated spread
	RestsReadingsNormal  = "readings-normal"      // readings: mean and standard uncertainty
	RestsMeasuredStack   = "measured-stack"       // replaces the layers' sum
	RestsSqueeze         = "squeeze"              // soft layers by series springs
	RestsEdgeDistance    = "edge-distance"        // from the parts
	RestsPitch           = "pitch"                // least and greatest pitch
	RestsPreload         = "preload-min"          // least preload wanted
	RestsSeamGap         = "seam-gap"             // limit of the seam's gap
	RestsChanceMin       = "chance-min"           // least chance wanted
	RestsRivetEdge       = "rivet-edge"           // 2 D, countersunk 2.5 D
	RestsSheetFlat       = "flat-development"     // a crown serves marking out alone
	RestsNearestListed   = "nearest-listed"       // single thicknesses by nearest value
	RestsSupplierBands   = "supplier-bands"       // the range's own bands override the formula
	RestsDropOn          = "drop-on"              // rigid panel and frame
	RestsBlindTail       = "blind-tail"           // typical set tail of a blind rivet
	RestsCuttingSpeed    = "cutting-speed"        // advised speeds
	RestsGalvanicIndex   = "galvanic-index"       // anodic index
	RestsMaterialTables  = "material-tables"      // strengths of materials
	RestsThermalGrowth   = "thermal-growth"       // free growth of the whole panel
	RestsSurveyTape      = "survey-tape"          // what one reading of the tape is worth
	RestsSamplePartsOnly = "sample-range"         // the range is invented
)

// assumeText says each assumption that is a rule, not a number. Numbers are written by assumeSettings.
var assumeText = map[string][2]string{ // text, source
	RestsOrientation:     {"Which way the panel faces is not known: the greatest of the three accelerations is taken along its normal, and again in its plane.", "safe side, no source"},
	RestsTributaryArea:   {"The load at a station is the panel's load on the area nearest to it. It can be low by half, and knows no prying, no stiffness and no seam.", "estimate, no source"},
	RestsPanelModel:      {"Under load a panel is a flat sheet that bends in proportion to its load, good while it bows by no more than half its thickness between its supports. Supports are rigid and only push, along their middle and both edges; a station pulls with its wire at its least rate and the low end of its deflection, aged; a seal beside the clamp path pushes as when shut, a soft layer in it counts in the wire's deflection and not as a soft seat; laminates bend alike in all directions. Crown, returns, ribs and swages of the panel, and what the frame yields, are not modelled.", "model; see the theory"},
	RestsIndependent:     {"Stations are independent, so their chances multiply. Thickness errors shared along one sheet make the chance of the whole panel higher than the product.", "common practice, no source"},
	RestsRectangular:     {"Limits without readings count as rectangular: any value between them alike.", "JCGM 100:2008 4.3.7"},
	RestsReadingsNormal:  {"Readings count as normal, with their mean and its standard uncertainty.", "JCGM 100:2008 4.2.3"},
	RestsMeasuredStack:   {"A measured stack replaces the sum of the layers at its station, counted as the chosen mounting counts it.", "job"},
	RestsSqueeze:         {"A soft layer in the clamp path yields as a linear spring in series with the wire.", "model"},
	RestsRivetEdge:       {"Rivets keep 2 diameters from an edge, 2.5 when countersunk.", "TM 10-5410-229-13&P p. 5-4; AC 43.13-1B 4-57; 2.5 from study text"},
	RestsSheetFlat:       {"Panels are set out on their flat development; the job states no crown, so fanning studs and a shorter inner panel are not reckoned with.", "model"},
	RestsNearestListed:   {"Where a range lists single thicknesses, the part listed for the nearest one is chosen, and the chance is not known.", "common practice, no source"},
	RestsSupplierBands:   {"The range's own thickness bands override the formula.", "the range"},
	RestsDropOn:          {"Panel and frame are rigid and flat; each hole lies anywhere in its position zone alike; the panel may move and turn.", "JCGM 100:2008 4.3.7; ASME Y14.5 App. B for the zones"},
	RestsBlindTail:       {"Set tails of blind rivets have their typical size.", "common practice, no source"},
	RestsCuttingSpeed:    {"Cutting speeds are those of the embedded table.", "table of speeds, see its rows"},
	RestsGalvanicIndex:   {"Neighbouring metals are compared by the anodic index.", "see the materials table"},
	RestsMaterialTables:  {"Strengths without the job's own data are those of the embedded materials table.", "see its rows"},
	RestsThermalGrowth:   {"Panel and frame grow freely and evenly from the temperature at fitting.", "model"},
	RestsSamplePartsOnly: {"The fastener range is an invented sample: nothing can be bought by these ids.", "sample"},
}

// assumeSetting is a number with a stated default.
type assumeSetting struct {
	id, text string
	set      job.Setting
	show     func(float64) string
}

// assumeConditions lists the job's settings under their ids.
func assumeConditions(c *job.Conditions) []assumeSetting {
	show := func(d measure.Dimension) func(float64) string {
		return func(v float64) string { return measure.Show(v, d) }
	}
	share := func(v float64) string { return measure.Fixed(100*v, 0) + " %" }
	return []assumeSetting{
		{RestsTopSpeed, "Top speed.", c.TopSpeed, measure.MetrePerSecond},
		{RestsAirDensity, "Air density.", c.AirDensity, func(v float64) string { return measure.Fixed(v*1e12, 3) + " kg/m³" }},
		{RestsGustFactor, "Factor for gusts and passing vehicles on the pressure of the air.", c.GustFactor, show(measure.Number)},
		{RestsAcceleration + "-forward", "Acceleration forwards and backwards.", c.AccelForward, measure.Gravity},
		{RestsAcceleration + "-sideways", "Acceleration sideways.", c.AccelSideways, measure.Gravity},
		{RestsAcceleration + "-vertical", "Acceleration up and down.", c.AccelVertical, measure.Gravity},
		{RestsTemperature + "-min", "Lowest temperature.", c.TempMin, show(measure.Temperature)},
		{RestsTemperature + "-max", "Highest temperature.", c.TempMax, show(measure.Temperature)},
		{RestsTemperature + "-fit", "Temperature at fitting.", c.TempFit, show(measure.Temperature)},
		{RestsRatingFactor, "Ratings of parts are divided by this.", c.RatingFactor, show(measure.Number)},
		{RestsJointFactor, "Computed strengths of sheet and rivets are divided by this.", c.JointFactor, show(measure.Number)},
		{RestsFriction, "Friction of cam and head.", c.Friction, show(measure.Number)},
		{RestsHandTorque, "Torque that a hand can turn.", c.HandTorque, measure.NewtonMetre},
		{RestsToolTorque, "Torque that a driver in a hand can turn.", c.ToolTorque, measure.NewtonMetre},
		{RestsDriverPush, "Push of the fitter on the driver.", c.DriverPush, measure.Newton},
		{RestsAgeing, "Deflection that wire set and creep eat with time.", c.Ageing, measure.MM},
		{RestsTemplateZone, "Position zone of a hole from a paper template, a diameter.", c.TemplateZone, measure.MM},
		{RestsJigZone, "Position zone of a hole from a jig, a diameter.", c.JigZone, measure.MM},
		{RestsMatchZone, "Position zone of a match-drilled hole, a diameter.", c.MatchZone, measure.MM},
		{RestsHoleFit, "Largest excess of a hole over what is wanted, where the part does not say.", c.HoleFit, measure.MM},
		{RestsLocateExcess, "Greatest excess of the hole that locates the panels over the stud.", c.LocateExcessMax, measure.MM},
		{RestsSpareShare, "Share of parts bought as spares.", c.SpareShare, share},
	}
}

// assumePanel lists one panel's limits under their ids.
func assumePanel(l *job.Limits) []assumeSetting {
	share := func(v float64) string { return measure.Percent(v) }
	return []assumeSetting{
		{RestsSeamGap, "Greatest gap of a seam under load.", l.SeamGap, measure.MM},
		{RestsPitch + "-min", "Least pitch of stations.", l.PitchMin, measure.MM},
		{RestsPitch + "-max", "Greatest pitch of stations.", l.PitchMax, measure.MM},
		{RestsPreload, "Least preload of a station.", l.PreloadMin, measure.Newton},
		{RestsChanceMin, "Least chance that a station closes well.", l.ChanceMin, share},
		{RestsEdgeDistance, "Least distance of a station from an edge; 0: as the parts need.", l.EdgeDistance, measure.MM},
	}
}

// assumeList gathers what the plan rests on, sorted by id, each once: every default that the job did not set, the rules of
// the models that ran, and whatever a check names. A check that names an id unknown here is our mistake, and panics.
func assumeList(p *Plan) []Assumption {
	byID := map[string]Assumption{}
	put := func(a Assumption) {
		if old, ok := byID[a.ID]; ok && old.Value != a.Value {
			a.ID += "-" + a.Value // the same limit with another default on another panel
		}
		byID[a.ID] = a
	}
	rests := map[string]bool{}
	for _, pan := range p.Panels {
		assumeUsed(pan, rests)
	}
	settings := map[string][]assumeSetting{}
	add := func(list []assumeSetting) {
		for _, s := range list {
			group := assumeGroup(s.id)
			settings[group] = append(settings[group], s)
			if s.id != group {
				settings[s.id] = append(settings[s.id], s)
			}
			if s.set.Assumed && !assumeIdle(p.Job, s.id) {
				put(Assumption{ID: s.id, Text: s.text, Value: s.show(s.set.Value), Source: s.set.Source})
			}
		}
	}
	add(assumeConditions(&p.Job.Conditions))
	for _, pan := range p.Panels {
		add(assumePanel(&pan.Job.Limits))
		assumeThickness(pan, put)
		if s := pan.Job.Survey; s != nil && s.Tape.Assumed {
			put(Assumption{ID: RestsSurveyTape, Text: "How far one reading of the tape may be off, either way, where the job does not say.", Value: "± " + measure.MM(s.Tape.Value), Source: s.Tape.Source})
		}
		if pan.Job.Loads.CpAssumed {
			put(Assumption{ID: RestsPressureCoeff, Text: "Pressure coefficients outside and inside, of panels that give none.",
				Value: fmt.Sprintf("%+.2f outside, %+.2f inside", pan.Job.Loads.CpOutside, pan.Job.Loads.CpInside), Source: "common practice, no source"})
		}
	}
	if p.Job.Conditions.MarkingAssumed {
		put(Assumption{ID: RestsMarking, Text: "How holes are marked out.", Value: p.Job.Conditions.Marking, Source: "common practice, no source"})
	}
	if p.Job.Range != nil && p.Job.Range.Sample {
		rests[RestsSamplePartsOnly] = true
	}
	for _, id := range assumeSorted(rests) {
		if t, ok := assumeText[id]; ok {
			if id == RestsSheetFlat && assumeCrowned(p) {
				t[0] = assumeCrown
			}
			put(Assumption{ID: id, Text: t[0], Source: t[1]})
		} else if !assumeKnown(id, settings) {
			panic(fmt.Sprintf("setout: a check rests on %q, which is no assumption", id))
		}
	}
	out := make([]Assumption, 0, len(byID))
	for _, id := range assumeSorted(byID) {
		out = append(out, byID[id])
	}
	return out
}

// assumeCrown is what stands for RestsSheetFlat where the job states a panel's crown.
const assumeCrown = "Panels are set out on their flat development. A crown that the job states serves marking out alone, by the inner panel's own length; studs that fan out are not modelled, and the panel model takes the panel as flat."

// assumeCrowned says whether the job states the crown of any panel.
func assumeCrowned(p *Plan) bool {
	return slices.ContainsFunc(p.Panels, func(pan *Panel) bool { return pan.Job.Crown.Along > 0 || pan.Job.Crown.Across > 0 })
}

// assumeGroup is the id that stands for a family of settings, such as the three accelerations.
func assumeGroup(id string) string {
	for _, g := range []string{RestsAcceleration, RestsTemperature, RestsPitch} {
		if len(id) > len(g) && id[:len(g)+1] == g+"-" {
			return g
		}
	}
	return id
}

// assumeKnown says whether id is a setting (whether the job gave it or not) or comes about otherwise.
func assumeKnown(id string, settings map[string][]assumeSetting) bool {
	switch id {
	case RestsPressureCoeff, RestsMarking, RestsSpreadDefault:
		return true
	}
	return len(settings[id]) > 0
}

// assumeIdle leaves out zones of the ways of marking out that the job does not use, and the air's numbers at rest.
func assumeIdle(j *job.Job, id string) bool {
	c := &j.Conditions
	switch id {
	case RestsTemplateZone:
		return c.Marking != "template"
	case RestsJigZone:
		return c.Marking != "jig"
	case RestsMatchZone:
		return c.Marking != "match" && c.Marking != ""
	case RestsAirDensity, RestsGustFactor:
		return c.TopSpeed.Value == 0
	}
	return false
}

// assumeUsed marks the rules that a panel's results rest on.
func assumeUsed(pan *Panel, rests map[string]bool) {
	mark := func(checks []Check) {
		for _, k := range checks {
			for _, id := range k.Rests {
				rests[id] = true
			}
		}
	}
	mark(pan.Checks)
	for _, id := range []string{RestsSheetFlat, RestsRectangular, RestsIndependent, RestsTributaryArea, RestsOrientation, RestsRivetEdge} {
		rests[id] = true
	}
	if pan.DropOn != nil {
		rests[RestsDropOn] = true
	}
	for _, st := range pan.Stations {
		mark(st.Checks)
		if st.Stack.Measured {
			rests[RestsMeasuredStack] = true
		}
		for _, t := range st.Stack.Terms {
			if t.Layer != nil && t.Layer.Soft {
				rests[RestsSqueeze] = true
			}
			if t.Layer != nil && len(t.Layer.Thickness.Readings) > 0 {
				rests[RestsReadingsNormal] = true
			}
		}
		if st.Choice != nil && !st.Close.Known {
			rests[RestsNearestListed] = true
		}
		if st.Close.LoBy == grip.ByBand || st.Close.HiBy == grip.ByBand {
			rests[RestsSupplierBands] = true
		}
	}
}

// assumeThickness lists every thickness whose spread the job did not give.
func assumeThickness(pan *Panel, put func(Assumption)) {
	one := func(where string, l *job.Layer) {
		if l == nil || !l.Thickness.Assumed {
			return
		}
		put(Assumption{ID: RestsSpreadDefault + "-" + pan.Job.ID + "-" + where, Text: fmt.Sprintf("Spread of the thickness of %s, %s.", pan.Job.Name, where),
			Value: fmt.Sprintf("%s ± %s", measure.MM(l.Thickness.Nom), measure.MM(l.Thickness.Half)), Source: l.Thickness.Source})
	}
	one("outer", &pan.Job.Outer)
	one("inner", &pan.Job.Inner)
	for i := range pan.Job.Between {
		one(stackName(&pan.Job.Between[i], fmt.Sprintf("between %d", i+1)), &pan.Job.Between[i])
	}
	for _, s := range pan.Job.Supports {
		one(s.Name+" inner", s.Inner)
		for i := range s.Between {
			one(fmt.Sprintf("%s %s", s.Name, stackName(&s.Between[i], fmt.Sprintf("between %d", i+1))), &s.Between[i])
		}
	}
}

func assumeSorted[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for id := range m {
		out = append(out, id)
	}
	sort.Strings(out)
	return out
}
