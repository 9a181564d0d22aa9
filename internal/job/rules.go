package job

// The rules that reading a job can find broken, besides those of the YAML (package source) and of quantities (package
// measure). Each is the stable id that a message shows; testdata/faults has a case for every one.
const (
	RulePositive         = "positive"          // a size that must be more than nought
	RuleOutOfRange       = "out-of-range"      // a value that no vehicle has
	RuleSpread           = "spread"            // limits or readings that leave half the thickness open
	RuleTextLength       = "text-length"       // a name or note too long to print
	RuleDate             = "date"              // a date that is none of the calendar
	RuleRecordAddress    = "record-address"    // an address that no code of a label can carry
	RuleTooMany          = "too-many"          // over a bound of panels, points, stations, …
	RuleDuplicateName    = "duplicate-name"    // names that must differ
	RuleUnknownMaterial  = "unknown-material"  // no material of that id
	RuleNoMaterial       = "no-material"       // a gap where a sheet must be
	RuleSealStiffness    = "seal-stiffness"    // a seal in the clamp path without its stiffness, or a gap with one
	RuleDrillRepeated    = "drill-repeated"    // the same drill twice
	RuleRangeFile        = "range-file"        // the range cannot be opened
	RuleTemperatureOrder = "temperature-order" // low above high, fitting outside both
	RulePitchOrder       = "pitch-order"       // least pitch above the greatest

	RuleOutlineArea    = "outline-area"     // the outline encloses nothing
	RuleOutlineCrosses = "outline-crosses"  // the outline crosses or touches itself
	RulePointRepeated  = "point-repeated"   // two neighbouring points in one place
	RuleCornerRadius   = "corner-radius"    // a corner radius that does not fit
	RuleCurve          = "curve"            // a side whose curve cannot be
	RuleOffsets        = "offsets"          // an offset table that does not add up
	RuleOutlineFile    = "outline-file"     // an outline's file that cannot be opened, or read as an outline
	RuleEdgeCount      = "edge-count"       // edge names that do not match the sides
	RuleUnknownCorner  = "unknown-corner"   // a length to no corner of the survey
	RuleLengthTwice    = "length-twice"     // one length of a survey twice
	RuleEdgeLength     = "edge-length"      // an edge that a survey does not measure
	RuleSurveyLoose    = "survey-loose"     // lengths that do not fix every corner
	RuleSurveyMisfit   = "survey-misfit"    // lengths that no shape has
	RuleUnknownEdge    = "unknown-edge"     // no edge of that name
	RuleShape          = "shape"            // a cut-out or keep-out that encloses nothing or crosses itself
	RuleCutOutOutside  = "cut-out-outside"  // a cut-out that is not inside the outline
	RuleCutOutMeets    = "cut-out-meets"    // a cut-out that crosses or touches the outline
	RuleCutOutOverlap  = "cut-out-overlap"  // cut-outs that meet each other
	RuleKeepOutOutside = "keep-out-outside" // a keep-out that keeps nothing out
	RuleKeepOutWhole   = "keep-out-whole"   // a keep-out that leaves no place

	RuleNoSupport      = "no-support"      // a panel that rests on nothing
	RuleEdgeTwice      = "edge-twice"      // one edge in two flanges
	RuleFlangeWide     = "flange-wide"     // a flange wider than the panel
	RuleInset          = "inset"           // a seat line off its support
	RuleSeatCutOut     = "seat-cut-out"    // a seat line that a cut-out takes away
	RuleRibLine        = "rib-line"        // a rib without length, or that crosses itself
	RuleRibOutside     = "rib-outside"     // a rib off the panel, or over a cut-out
	RuleWeld           = "weld"            // a weld on what cannot be welded
	RuleMassOutside    = "mass-outside"    // a lumped mass off the panel
	RuleStationOutside = "station-outside" // a station off the panel
	RuleStationCutOut  = "station-cut-out" // a station in a cut-out
	RuleStationTwice   = "station-twice"   // two stations in one place, or with one id
	RuleStationTape    = "station-tape"    // a tape distance beyond its edge, or along an edge without a flange
	RuleUnknownStation = "unknown-station" // a measured stack at no station
	RuleMeasuredTwice  = "measured-twice"  // two measured stacks at one station
	RuleNoUncertainty  = "no-uncertainty"  // a measured stack without readings or limits
)

// Rules lists every rule above.
func Rules() []string {
	return []string{
		RulePositive, RuleOutOfRange, RuleSpread, RuleTextLength, RuleDate, RuleRecordAddress, RuleTooMany, RuleDuplicateName, RuleUnknownMaterial, RuleNoMaterial,
		RuleSealStiffness, RuleDrillRepeated, RuleRangeFile, RuleTemperatureOrder, RulePitchOrder,
		RuleOutlineArea, RuleOutlineCrosses, RulePointRepeated, RuleCornerRadius, RuleCurve, RuleOffsets, RuleOutlineFile, RuleEdgeCount,
		RuleUnknownCorner, RuleLengthTwice, RuleEdgeLength, RuleSurveyLoose, RuleSurveyMisfit,
		RuleUnknownEdge, RuleShape, RuleCutOutOutside, RuleCutOutMeets, RuleCutOutOverlap, RuleKeepOutOutside, RuleKeepOutWhole,
		RuleNoSupport, RuleEdgeTwice, RuleFlangeWide, RuleInset, RuleSeatCutOut, RuleRibLine, RuleRibOutside, RuleWeld, RuleMassOutside,
		RuleStationOutside, RuleStationCutOut, RuleStationTwice, RuleStationTape, RuleUnknownStation,
		RuleMeasuredTwice, RuleNoUncertainty,
	}
}

// Bounds of what is read. They keep the work of every later step small; a vehicle's panels come nowhere near.
const (
	mostPanels   = 100
	mostPoints   = 400  // of one outline, cut-out, keep-out or rib
	mostVertices = 4000 // of one job in all
	mostCutOuts  = 40   // per panel; keep-outs alike
	mostSupports = 40   // per panel
	mostLayers   = 8    // between
	mostStations = 400  // per panel
	mostMasses   = 40
	mostDrills   = 400
	mostNotes    = 60
	mostAddress  = 120    // characters of a web address
	mostText     = 300    // runes of a name or note
	mostLength   = 50_000 // mm, of any coordinate or size
)
