package job

import (
	"panelwright/internal/measure"
	"panelwright/internal/stock"
)

// Sources of defaults, as the pack prints them.
const (
	sourceISO2533  = "ISO 2533"
	sourcePractice = "common practice, no source"
	sourceJob      = "job"
)

// Default is a number that a job may leave out: its key in the file, what it is, and what stands when it is left out.
// Least and Most bound what a job may give instead. House units.
type Default struct {
	Key         string // as conditions.friction
	What        string
	Dim         measure.Dimension
	Value       float64
	Least, Most float64
	Source      string
}

// Keys of the defaults.
const (
	keyTopSpeed     = "conditions.top speed"
	keyAirDensity   = "conditions.air density"
	keyForward      = "conditions.acceleration.forward"
	keySideways     = "conditions.acceleration.sideways"
	keyVertical     = "conditions.acceleration.vertical"
	keyTempLow      = "conditions.temperature.low"
	keyTempHigh     = "conditions.temperature.high"
	keyTempFit      = "conditions.temperature.at fitting"
	keyGust         = "conditions.factors.gust"
	keyRatings      = "conditions.factors.ratings"
	keyJoints       = "conditions.factors.joints"
	keyFriction     = "conditions.friction"
	keyHandTorque   = "conditions.torque.hand"
	keyToolTorque   = "conditions.torque.tool"
	keyDriverPush   = "conditions.driver push"
	keyAgeing       = "conditions.ageing"
	keyZoneTemplate = "conditions.position zone.template"
	keyZoneJig      = "conditions.position zone.jig"
	keyZoneMatch    = "conditions.position zone.match"
	keyHoleFit      = "conditions.hole fit"
	keyLocate       = "conditions.locating excess"
	keySpares       = "conditions.spares"
	keySeamGap      = "limits.seam gap"
	keyPitchMin     = "limits.least pitch"
	keyPitchMax     = "limits.greatest pitch"
	keyPreloadMin   = "limits.least preload"
	keyChanceMin    = "limits.least chance"
	keyEdgeDistance = "limits.edge distance"
	keyTape         = "outline.survey.tape"
	keyJigPlate     = "marking out.jig.plate"
	keyJigWall      = "marking out.jig.wall"
	keyJigClearance = "marking out.jig.clearance"
	keyJigFence     = "marking out.jig.fence"
)

const gravity = 9806.65 // mm/s², standard gravity

var defaults = []Default{
	{keyTopSpeed, "top speed", measure.Speed, 0, 0, 350e3, "none given: the vehicle stands"},
	{keyAirDensity, "air density", measure.Density, 1.225e-12, 0.1e-12, 2e-12, sourceISO2533},
	{keyForward, "acceleration forwards and backwards", measure.Acceleration, 1 * gravity, 0, 50 * gravity, sourcePractice},
	{keySideways, "acceleration sideways", measure.Acceleration, 1 * gravity, 0, 50 * gravity, sourcePractice},
	{keyVertical, "acceleration up and down", measure.Acceleration, 2 * gravity, 0, 50 * gravity, sourcePractice},
	{keyTempLow, "lowest temperature", measure.Temperature, -10, -70, 200, sourcePractice},
	{keyTempHigh, "highest temperature", measure.Temperature, 50, -70, 300, sourcePractice},
	{keyTempFit, "temperature at fitting", measure.Temperature, 20, -70, 200, sourcePractice},
	{keyGust, "factor on the pressure of the air", measure.Number, 1.5, 1, 10, sourcePractice},
	{keyRatings, "ratings of parts are divided by this", measure.Number, 1.5, 1, 10, sourcePractice},
	{keyJoints, "computed strengths of sheet and rivets are divided by this", measure.Number, 2, 1, 10, sourcePractice},
	{keyFriction, "friction of cam and head", measure.Number, 0.15, 0.01, 1, sourcePractice},
	{keyHandTorque, "torque that a hand can turn", measure.Torque, 1000, 50, 20e3, sourcePractice},
	{keyToolTorque, "torque that a driver in a hand can turn", measure.Torque, 3000, 50, 50e3, sourcePractice},
	{keyDriverPush, "push of the fitter on the driver", measure.Force, 100, 0, 1000, sourcePractice},
	{keyAgeing, "deflection lost to wire set and creep", measure.Length, 0.2, 0, 5, sourcePractice},
	{keyZoneTemplate, "position zone from a paper template, a diameter", measure.Length, 1.5, 0, 20, sourcePractice},
	{keyZoneJig, "position zone from a jig, a diameter", measure.Length, 0.3, 0, 20, sourcePractice},
	{keyZoneMatch, "position zone of match drilling, a diameter", measure.Length, 0.1, 0, 20, sourcePractice},
	{keyHoleFit, "largest excess of a hole where the part does not say", measure.Length, 0.3, 0, 5, sourcePractice},
	{keyLocate, "greatest excess over the stud of the hole that locates the panels", measure.Length, 1.4, 0, 10, sourcePractice},
	{keySpares, "share of parts bought as spares", measure.Number, 0.1, 0, 5, sourcePractice},
	{keySeamGap, "greatest gap of a seam under load", measure.Length, 1, 0.05, 25, sourcePractice},
	{keyPitchMin, "least pitch of stations", measure.Length, 60, 5, 5000, sourcePractice},
	{keyPitchMax, "greatest pitch of stations", measure.Length, 250, 10, 5000, sourcePractice},
	{keyPreloadMin, "least preload of a station", measure.Force, 30, 0, 5e3, sourcePractice},
	{keyChanceMin, "least chance that a station closes well", measure.Number, 0.95, 0.5, 1, sourcePractice},
	{keyEdgeDistance, "least distance of a station from an edge; 0: as the parts need", measure.Length, 0, 0, 500, "from the parts"},
	{keyTape, "how far one reading of the tape may be off, either way", measure.Length, 1.5, 0.05, 50, sourcePractice},
	{keyJigPlate, "thickness of a jig's plate", measure.Length, 8, 1, 60, sourcePractice},
	{keyJigWall, "least material of a jig between holes and to its edge", measure.Length, 3, 0.4, 50, sourcePractice},
	{keyJigClearance, "by how much a jig's holes are larger than what goes in, in diameter", measure.Length, 0.2, -0.2, 2, sourcePractice},
	{keyJigFence, "how far a jig's fence reaches below its plate", measure.Length, 5, 0.5, 100, sourcePractice},
}

// Defaults lists every number that a job may leave out, in the order of the file. The caller owns the slice.
func Defaults() []Default { return append([]Default(nil), defaults...) }

func defaultOf(key string) Default {
	for _, d := range defaults {
		if d.Key == key {
			return d
		}
	}
	panic("job: no default " + key)
}

// setting is the default as a Setting.
func (d Default) setting() Setting {
	return Setting{Value: d.Value, Assumed: true, Source: d.Source}
}

// Pressure coefficients of a panel that gives neither them nor a pressure, at speed: suction over a bowed panel, and a
// little ram air behind it. Common practice, no source.
const (
	cpOutsideDefault = -0.6
	cpInsideDefault  = 0.2
)

// readingResolution is the width (mm) within which one reading is rounded: a vernier caliper's. It enters the standard
// uncertainty as a rectangular part, so that equal readings do not count as exact. Common practice, no source.
const readingResolution = 0.05

// spreadShare is the half-width of a thickness without stated spread, as a share of it. Common practice, no source.
func spreadShare(f stock.Family) float64 {
	switch {
	case f.Laminate(), f == stock.Plastic, f == stock.Wood:
		return 0.10
	case f.Metal():
		return 0.05
	}
	return 0.20 // seals, gaps
}
