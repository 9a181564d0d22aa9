// Package job is what is asked: a vehicle, its panels, the conditions that they meet, as read from a job file.
//
// Every value is in house units (mm, N, MPa, rad, s, tonne; °C) and knows where it stood in the file.
package job

import (
	"panelwright/internal/fault"
	"panelwright/internal/plane"
	"panelwright/internal/stock"
)

// Job is one vehicle's work.
type Job struct {
	File       string // name as given, for messages
	Name       string
	Sample     bool   // demo data, marked so on every page
	Date       string // as written; empty: none printed. Never the clock
	Inch       bool   // lengths are shown inch first in brackets where it helps; declared units
	Paper      string // "A4", "A3", "Letter"
	Record     string // web address of a panel's record, with {panel} for its id and {piece} for which of several; empty: none is kept
	Range      *stock.Range
	RangeName  string        // "sample" or the file's name
	Drills     []stock.Drill // that the shop owns, ascending diameter
	AnySize    bool          // the shop can get any drill in the tables: Drills holds them all
	Notes      []string
	Conditions Conditions
	MarkingOut MarkingOut
	Panels     []*Panel
	Materials  map[string]*stock.Material // by id: embedded, the range's and the job's own
	Pos        fault.Pos

	at places
}

// Setting is a number that has a stated default. Assumed is true when the job did not give it.
type Setting struct {
	Value   float64
	Assumed bool
	Source  string // of the default: "ISO 2533", "common practice, no source", …; "job" when given
	Pos     fault.Pos
}

// Conditions are what the panels meet. Each has a default that the pack prints as an assumption.
type Conditions struct {
	TopSpeed        Setting // mm/s; no default: 0 when the vehicle stands (canopy, launch at rest)
	AirDensity      Setting // tonne/mm³; 1.225 kg/m³, ISO 2533 sea level
	AccelForward    Setting // mm/s², magnitudes by direction of the vehicle
	AccelSideways   Setting
	AccelVertical   Setting
	TempMin         Setting // °C
	TempMax         Setting
	TempFit         Setting // °C when fitted
	GustFactor      Setting // on air pressure
	RatingFactor    Setting // ratings are divided by this
	JointFactor     Setting // computed part strengths (pull-through, bearing, rivets) are divided by this
	Friction        Setting // μ of cam and head
	HandTorque      Setting // N·mm that a hand can turn
	ToolTorque      Setting // N·mm that a driver in a hand can turn
	DriverPush      Setting // N, the fitter's push on the driver
	Ageing          Setting // mm of δ lost to wire set, creep of laminate and seal
	TemplateZone    Setting // mm, diameter: position error of a hole marked from a paper template
	JigZone         Setting
	MatchZone       Setting
	Marking         string // "template", "jig", "match" (match drilling), default "match"
	MarkingAssumed  bool
	HoleFit         Setting // mm, largest excess of a hole over what is wanted where a part does not say
	LocateExcessMax Setting // mm, greatest excess of the hole that locates the panels over the stud
	SpareShare      Setting // share of parts bought as spares
}

// Panel is one removable panel (or Quantity equal ones).
type Panel struct {
	ID, Name     string // ID is made from the name: lower case, hyphens; unique
	Quantity     int
	Outline      plane.Region // developed outline, anticlockwise, cut-outs clockwise
	Edges        []Edge       // every edge of the outer outline in order, from its first vertex
	Crown        Crown
	Survey       *Survey   // how the outline was taken; nil when it was not by tape
	Imported     *Imported // where the outline came from; nil when it does not come out of a file
	Front        string    // name of the edge that faces forward, may be empty
	OpensForward bool      // hinged or sliding so that the wind can lift it: second retention needed
	Outer        Layer
	Between      []Layer // gaskets, spacers, in order inwards, common to all supports
	Inner        Layer   // default for supports that do not name their own
	Supports     []*Support
	KeepOuts     []KeepOut
	Loads        Loads
	Limits       Limits
	Stations     StationsSpec
	Style        Style
	Measured     []MeasuredStack
	Hazards      []string // what lies behind: "fuel line", "brake line", "harness", "battery", "high voltage", "airbag", "exhaust", "isolator", "extinguisher", "occupant"
	Notes        []string
	Pos          fault.Pos
	CutOutNames  []string // as Outline.CutOuts

	at places // where fields stood in the file; nil for a panel made otherwise
}

// Crown is how far the panel's middle stands above a straightedge laid over its whole length along x and along y, outwards, mm; 0: flat.
// It serves marking out: what lies deeper than the outer face is shorter.
type Crown struct{ Along, Across float64 }

// Edge is one named side of the outline: one or more consecutive segments of the outer path.
type Edge struct {
	Name     string
	From, To float64 // arc length along the outer path; To > From; the last edge may end at the path's length
	Pos      fault.Pos
}

// Layer is one sheet, gasket or air gap of the stack. Readings of a layer are taken at places spread over it, so at the
// next place it lies within s·√(1 + 1/n) of their mean: that, with the caliper's resolution, is its StdUnc.
type Layer struct {
	Name      string          // "outer", "between 1", "inner"
	Material  *stock.Material // nil for a gap
	Thickness Thickness
	Soft      bool    // a seal in the clamp path
	Modulus   float64 // N/mm³, of a soft layer: pressure per squeeze
	Area      float64 // mm² of a soft layer that a station squeezes; 0: the receptacle's foot area
	Pos       fault.Pos
}

// Thickness is a thickness with what is known of its spread.
type Thickness struct {
	Nom      float64
	Half     float64 // limits ± (rectangular); 0 when readings are given
	Readings []float64
	StdUnc   float64 // of readings: standard uncertainty of the thickness at one station. See Layer and MeasuredStack
	Assumed  bool    // the spread is a default, not the job's
	Source   string  // of the assumed spread
	Pos      fault.Pos
}

// Support is what the panel rests on: a flange along edges, or a rib along a line.
type Support struct {
	Name    string
	Kind    string     // "flange" or "rib"
	Edges   []string   // flange
	Line    plane.Path // rib: open path in panel coordinates
	Width   float64
	Inset   float64     // of the seat line from the outline; 0: half the width
	Inner   *Layer      // own inner layer; nil: the panel's
	Between []Layer     // own layers between; nil: the panel's; empty but not nil: none
	Mount   stock.Mount // where a receptacle can go here; "" = Behind
	Weld    bool        // receptacles are welded here (tube or steel bracket)
	Room    float64     // behind the mounting face; 0: not known
	Upstand float64     // nearest upstand beside the seat line; 0: none or not known
	Seal    *SealStrip
	Pos     fault.Pos

	at places
}

// SealStrip is a seal beside the clamp path: it pushes the panel off.
type SealStrip struct {
	PushPerLength float64 // N/mm when closed
	Pos           fault.Pos
}

// KeepOut is a region where no station may stand.
type KeepOut struct {
	Name   string
	Region plane.Path // closed
	Pos    fault.Pos
}

// Loads are what pulls the panel off. Signs: outward positive.
type Loads struct {
	Pressure    float64 // MPa outward, given directly
	HasPressure bool
	CpOutside   float64
	CpInside    float64
	HasCp       bool
	CpAssumed   bool
	Masses      []LumpedMass
	Pos         fault.Pos
}

// LumpedMass is a latch, a lamp, a filler.
type LumpedMass struct {
	Name string
	Mass float64 // tonne
	At   plane.Point
	Pos  fault.Pos
}

// Limits are what must hold.
type Limits struct {
	SeamGap      Setting // mm
	PitchMin     Setting
	PitchMax     Setting
	PreloadMin   Setting // N
	ChanceMin    Setting // least chance that a station closes well
	RatingFactor Setting // on ratings, of this panel; Value 0: the conditions'
	EdgeDistance Setting // mm from station to the outline; 0: from the parts
}

// StationsSpec says how stations come about.
type StationsSpec struct {
	Mode  string  // "auto", "count", "pitch", "given"
	Count int     // mode count: in all
	Pitch float64 // mode pitch: greatest
	Given []GivenStation
	Pos   fault.Pos
}

// GivenStation is kept as given and checked.
type GivenStation struct {
	ID   string      // "" = numbered
	At   plane.Point // resolved panel coordinates
	Edge string      // when given by edge and tape distance
	Tape float64
	Pos  fault.Pos
}

// Style is what the panel wants of its fasteners; "" is any.
type Style struct {
	Head  string     // "raised", "flush"
	Drive string     // "hand", "tool"
	Plate stock.Face // "", or one of the faces
}

// MeasuredStack overrides the layers' sum at a station. Its readings are repeated at that station: StdUnc is s/√n (JCGM
// 100:2008 4.2.3) with the caliper's resolution.
type MeasuredStack struct {
	Station   string
	Thickness Thickness // of the stack T as the mounting counts it
	Pos       fault.Pos
}

// RatingFactor is what the ratings of a panel's parts are divided by: the factor of its own limits, else the conditions'.
func (j *Job) RatingFactor(l *Limits) float64 {
	if v := l.RatingFactor.Value; v > 0 {
		return v
	}
	return j.Conditions.RatingFactor.Value
}
