// Package setout is what is decided: stations, parts, loads, checks and holes for every panel of a job.
//
// Place, Load and Pick search and compute, Again and Refuse say whether they must run once more; holes and checks follow from
// them in another package, and the judge shares no helper with either.
package setout

import (
	"panelwright/internal/grip"
	"panelwright/internal/job"
	"panelwright/internal/plane"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// Verdict is the end of a check.
type Verdict int

// The three verdicts. NotKnown is never shown as Holds.
const (
	NotKnown Verdict = iota // the model that could say is missing or out of its range
	Holds
	DoesNotHold
)

// String gives the words that the pack prints.
func (v Verdict) String() string {
	return [...]string{"not known", "holds", "does not hold"}[v]
}

// Plan is everything decided about a job.
type Plan struct {
	Job         *job.Job
	Panels      []*Panel
	Order       []OrderLine
	Assumptions []Assumption // sorted by ID, each once
	Cautions    []Caution    // sorted, for the whole job; panels carry their own ids
	Judge       []Finding    // empty when the judge agrees with every check
	History     []string     // the loop in plan: what was tried, why it was rejected
}

// Panel is what is decided about one panel.
type Panel struct {
	Job       *job.Panel
	SeatLines []SeatLine
	Stations  []*Station // numbered in order along the seat lines, corners first come in their place
	Choices   []*Choice  // one per mounting group, stations point to them
	Checks    []Check    // of the panel as a whole: pitch, drop-on, second retention, seam gap (not known), …
	Load      LoadEstimate
	Bearing   *Bearing // nil: the panel model was not asked
	Holes     []Hole   // in order of work
	Joins     []RivetJoint
	DropOn    *DropOn
	Cautions  []string // ids into Plan.Cautions
	Inner     string   // of a copy that is drawn at the inner panel's own length: what was done, in a sentence
	Faults    []string // nothing fits, or no room: sentences that say by how much and what would

	feet, placedFor         map[*job.Support]placeFoot // room of the chosen parts; room that the stations were placed for
	placeFaults, pickFaults []string
	countNote               string                   // that another number of stations stands than was asked for
	refused                 map[string]*pickRefusals // by group: what checks sent back
}

// SeatLine is the centre line of a support on which stations may stand.
type SeatLine struct {
	Support *job.Support
	Edge    string     // the edge that it follows, "" for a rib
	Path    plane.Path // open, panel coordinates
}

// Station is one fastener.
type Station struct {
	ID           string // unique in its panel: "1", "2", … or as given
	At           plane.Point
	Dir          float64 // rad, direction of the rivet line in panel coordinates
	Corner       bool
	Given        bool
	Support      *job.Support
	Edge         string  // edge whose tape finds it
	Tape         float64 // distance along that edge from its first corner to the foot of the perpendicular
	TapeInset    float64 // perpendicular distance from that edge
	EdgeDistance float64 // shortest distance to the outline or a cut-out
	Stack        StackSum
	Choice       *Choice
	Shims        int
	Close        Closing
	Load         StationLoad
	Checks       []Check
}

// StackSum is T with its breakdown.
type StackSum struct {
	Terms    []StackTerm
	Sum      spread.Sum
	Nom      float64
	Measured bool // a measured stack replaced the layers
}

// StackTerm is one layer of the stack.
type StackTerm struct {
	Layer *job.Layer
	Name  string
	Nom   float64
	Part  spread.Part
	Basis string // "limits ± 0.2 mm", "3 readings", "assumed ± 10 % (common practice, no source)"
}

// Choice is the parts chosen for a group of stations of one panel with the same mounting.
type Choice struct {
	Panel           string
	Group           string // "behind", "front-beside-seat · welded", …
	Stud            *stock.Stud
	Plate           *stock.Plate
	Receptacle      *stock.Receptacle
	Shim            *stock.Shim  // the shim used, nil when no station needs one
	PlateRivet      *stock.Rivet // nil when the plate has no rivets
	ReceptacleRivet *stock.Rivet // nil when welded
	Chance          float64      // that every station of the group closes well (product), NaN when not known
	ChanceKnown     bool
	WorstChance     float64
	Reason          string     // why this pair, in a sentence
	Close           []RunnerUp // others that were close, best first
	Rejected        []RunnerUp // those that checks sent back, then the best that did not fit, with by how much

	trial  *pickTrial // what was chosen, and from what: Refuse looks for another
	trials []*pickTrial
}

// RunnerUp is a pair that was not chosen.
type RunnerUp struct {
	Stud, Plate, Receptacle string
	Shims                   string // "0", "1–2"
	Chance                  float64
	Why                     string
}

// Closing is how a station closes with its choice.
type Closing struct {
	grip.Result
	Chance, Loose, Tight float64 // sum 1; meaningful when Known
	Known                bool
	Spread               spread.Sum // of δ, with the spreads of its stack and parts; empty when the chance is not known
	Cure                 string     // which way: what a fitter would do if loose, if tight
	IfLoose, IfTight     string     // the two halves of Cure
}

// StationLoad is the tributary-area estimate. It can be low by half and knows no prying.
type StationLoad struct {
	Area     float64 // mm² that falls to the station
	Outward  float64 // N, worst case, seal push included
	Inertia  float64 // N, part of Outward
	Air      float64
	SealPush float64
	InPlane  float64 // N, from accelerations along the panel
	Case     string
}

// LoadEstimate is the panel's total.
type LoadEstimate struct {
	Pressure float64 // MPa outward
	Cases    []LoadCase
	Area     float64
	Mass     float64 // tonne: outer panel and lumped masses
	Note     string  // what the estimate leaves out
}

// LoadCase is one named case.
type LoadCase struct {
	Name    string
	Outward float64 // N, total
	InPlane float64 // N
	Formula string
}

// Check is one limit looked at.
type Check struct {
	ID       string // stable, lower case with hyphens: "closes", "edge-distance", …
	Name     string // as printed
	Value    float64
	Limit    float64
	Unit     string  // printed unit; Value and Limit are in it
	AtLeast  bool    // true: value must be ≥ limit; false: ≤
	Margin   float64 // relative: (limit−value)/limit or (value−limit)/limit; +: room left; NaN when Limit is 0
	Verdict  Verdict
	Basis    string   // formula and source, or assumption id
	Rests    []string // assumption ids
	Cure     string   // what would make it hold, when it does not
	NoNumber bool     // a yes/no check: Value and Limit mean nothing
}

// Hole is one hole, or one countersink or relief, in one layer.
type Hole struct {
	Panel, Station, Layer string
	No                    int    // running number in the panel, order of work
	Purpose               string // "centre", "plate rivet", "receptacle rivet", "relief", "rivet tail countersink", "receptacle body", "cut-out"
	Index                 int    // which of the pattern
	At                    plane.Point
	Wanted                float64 // diameter
	WantedMax             float64
	Drill                 *stock.Drill // nil: none of the shop's fits
	NoDrill               string       // then: why, and what to buy
	Pilot                 *stock.Drill // through both layers first, nil when not piloted
	Countersink           *Countersink
	Tool                  string  // "twist drill", "step drill", "carbide drill with backing board", …
	RPM                   float64 // as set on a hand drill
	RPMBasis              string
	Stage                 int  // 1 pilot clamped (stands in Pilot, in the row of its hole), 2 open out, 3 countersink, 4 relief
	Clamped               bool // drilled through the layers together
	Note                  string
	Locates               bool // the hole that locates the panels
	Operation             bool // no hole of its own: the row works on a hole that another row makes
	Cut                   bool // punched or cut to Wanted by Tool: no drill is meant to make it

	// A cut-out that is not round: its size along and across Dir (rad, panel coordinates), mm. Length 0: round.
	Length, Width, Dir float64
}

// Countersink is a seat for a flush head, or for a set tail.
type Countersink struct {
	Face     string // "front" or "back" of its layer
	AngleDeg float64
	Diameter float64
	Depth    float64
	RPM      float64
	Knife    bool // depth against thickness leaves a knife edge
	Purpose  string
}

// RivetJoint says which side of a rivet is where, for the section drawing.
type RivetJoint struct {
	Station       string
	Part          string // "plate" or "receptacle"
	Rivet         *stock.Rivet
	Joins         []string // from head to tail: "plate", "outer", or "inner", "receptacle foot"
	Grip          float64
	HeadOn        string // "plate front", "inner front", …
	TailOn        string
	TailTreatment string // "none", "relief hole in the inner panel", "relief hole in the layer between", "reversed", "spread into a countersink, below flush", "backing washer"
	Reason        string // the rule that chose the treatment, in a sentence

	Relief          float64 // diameter of the relief hole for the tail (or for a dome head, when HeadRelief), 0: none
	HeadRelief      bool    // Relief takes the head
	WasherDiameter  float64 // backing washer under the tail, 0: none
	WasherThickness float64
	HeadSink        *Countersink // seat of a flush head in a layer, nil: none (a seat in the part itself is the part's)
	TailSink        *Countersink // seat of a set tail in a layer
	SinkLayer       string       // name of the layer that HeadSink or TailSink is cut into
	SinkLayerThick  float64      // its nominal thickness
	TailLayer       string       // role of what the tail bears on: "outer", "inner", "plate", "receptacle foot"
	TailOnLaminate  bool
	Trouble         string // no treatment serves: why, and what would
}

// DropOn is the chance that the whole panel drops over its holes.
type DropOn struct {
	Marking        string
	Zone           float64 // mm, diameter per part
	Clear          float64 // mm, diametral, hole less stud
	Chance, Lo, Hi float64
	Samples        int
	Basis          string
}

// OrderLine is one part to buy.
type OrderLine struct {
	ID, Name, Kind   string // kind: "stud", "plate", "receptacle", "rivet", "shim"
	Need, Spare, Buy int
	PackSize, Packs  int
	Cost, Mass       float64 // currency of the range; tonne of Buy pieces
	ForPanels        []string
	Note             string
}

// Assumption is a number or rule that a result rests on.
type Assumption struct {
	ID, Text string
	Value    string // with unit
	Source   string
}

// Caution is one of the usual warnings with where it applies.
type Caution struct {
	ID, Text string
	Panels   []string
}

// Finding is where the judge disagrees.
type Finding struct {
	Panel, Station, Check string
	Text                  string
}
