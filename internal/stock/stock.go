// Package stock says what exists: materials, drills, gauges, rivets, and ranges of studs, receptacles and shims.
//
// Tables of standards are embedded CSV files; each row carries its source and whether it was seen or is from memory.
// The embedded range is invented: every id in it says "sample".
package stock

import (
	"panelwright/internal/fault"
	"panelwright/internal/plane"
)

// Origin says where a number comes from.
type Origin struct {
	Source string // title, edition
	Status string // "seen", "computed", "from memory", "common practice, no source", "sample", "user"
}

// Toleranced is a nominal value with symmetric limits; Tol 0 means that none are stated. Limits without readings count
// as rectangular (JCGM 100:2008 4.3.7).
type Toleranced struct{ Nom, Tol float64 }

// Material is one row of the materials table, or the user's own. Zero means not known; a check that needs it is then
// "not known". House units; CTE in 1/K; Rho in tonne/mm³; Galvanic in V on the anodic index (gold 0), Galvanic < 0: not known.
type Material struct {
	ID, Name, Form   string
	Family           Family
	E, Nu, Rho, CTE  float64
	Yield, Ultimate  float64 // MPa
	ShearUltimate    float64 // MPa
	BearingUltimate  float64 // MPa at e/D 2.0
	BearingUltimate1 float64 // MPa at e/D 1.5
	Galvanic         float64
	Note             string
	Origin
	GalvanicOrigin Origin
}

// Family decides drills, speeds, oil, deburring and dust.
type Family string

// The families.
const (
	Aluminium   Family = "aluminium"
	Steel       Family = "steel"
	Stainless   Family = "stainless"
	Titanium    Family = "titanium"
	GlassFibre  Family = "glass-fibre"
	CarbonFibre Family = "carbon-fibre"
	Plastic     Family = "plastic"
	Wood        Family = "wood"
	Seal        Family = "seal"
)

// Laminate says whether f is fibre in resin: no oil, sealed edges, dust.
func (f Family) Laminate() bool { return f == GlassFibre || f == CarbonFibre }

// Metal says whether f is a metal.
func (f Family) Metal() bool {
	return f == Aluminium || f == Steel || f == Stainless || f == Titanium
}

// Drill is one size that can be bought.
type Drill struct {
	Series   string // "number", "letter", "fractional", "metric"
	Name     string // "#30", "F", "1/8 in", "3.3 mm"
	Diameter float64
	Origin
}

// Gauge is one sheet or wire gauge.
type Gauge struct {
	System    string // "swg", "awg", "msg", "gsg", "stainless"
	Name      string
	Thickness float64
	Origin
}

// Speed is the advised cutting speed for a family and tool, m/min at the rim of the drill, with the countersink's share.
type Speed struct {
	Family             Family
	Tool               string  // "hss", "carbide"
	LowMPM, HighMPM    float64 // m/min
	CountersinkDivisor float64 // countersinks run at speed divided by this
	Origin
}

// Face is where a stud's mounting plate lies.
type Face string

// The plates' faces (which layers the stack counts depends on it).
const (
	PlateOutside Face = "outside" // on the outer face: the stack counts the outer panel
	PlateBehind  Face = "behind"  // behind the outer panel: the stack does not count it
	PlateNone    Face = "none"    // grommet or retained washer: the head seats on the outer face
)

// Mount is where a receptacle lies.
type Mount string

// The receptacle's mountings (which way a shim works depends on it).
const (
	Behind          Mount = "behind"            // behind the inner panel, feet on its back: a shim tightens
	FrontBesideSeat Mount = "front-beside-seat" // on the front of a bracket or tube, the panel rests elsewhere: a shim loosens
	FrontUnderPanel Mount = "front-under-panel" // on the front, the panel rests on the receptacle itself: a shim changes nothing
)

// Fixing is how a part is held.
type Fixing string

// The fixings.
const (
	Riveted Fixing = "riveted"
	Welded  Fixing = "welded"
)

// Hole is one hole of a part's own pattern, relative to the stud's axis: X along the rivet line, Y across it.
type Hole struct {
	At       plane.Point
	Diameter float64
}

// Plate is the stud's mounting plate (or the grommet, Face none, with no holes of its own).
type Plate struct {
	ID, Name                  string
	Face                      Face
	Thickness                 float64
	Length, Width             float64    // along and across the rivet line
	BearingDiameter           float64    // of the ring or area that presses on the panel: pull-through perimeter is π times this
	CentreHole                Toleranced // hole wanted in the outer panel for the sleeve or the shank; Tol is how far a drill may differ upwards
	SleeveDiameter            float64    // what goes through that hole; 0: the stud's shank itself
	Float                     float64    // diametral play of the stud in the plate or grommet
	Rivets                    []Hole     // rivet holes
	RivetIDs                  []string   // rivets that fit, best first
	CountersinkDeg            float64    // included angle of the seats in the plate, 0: none
	CentreCountersinkDeg      float64    // included angle of a flush head's seat in the panel, 0: none
	CentreCountersinkDiameter float64
	Material                  string
	Mass, Cost                float64
	PackSize                  int
	Origin
}

// Stud is one reach of one family.
type Stud struct {
	ID, Name, Family string
	Head             string     // "raised" or "flush"
	Drive            string     // "hand" or "tool"
	PlateIDs         []string   // plates that this stud goes with
	Reach            Toleranced // R: seat to centre of the locked wire
	Shank            Toleranced // diameter
	HeadDiameter     float64
	HeadHeight       float64 // above the outer face, 0 when flush
	EndBeyondWire    float64 // length beyond the wire's centre
	CamRadius        float64 // mean radius r of the cam
	CamLift          float64 // ℓ in a quarter turn
	Crest            float64 // c: further pull on the way to the detent
	HeadFriction     float64 // μ_h; 0: use the condition's default
	SeatRadius       float64 // r_h of the turning head on its seat
	Rating           float64 // N, working
	Material         string
	Mass, Cost       float64 // tonne, currency of the range
	PackSize         int
	Origin
}

// Receptacle holds the sprung wire.
type Receptacle struct {
	ID, Name, Family string
	StudFamilies     []string // families that it accepts
	Mount            Mount
	Fixing           Fixing
	Depth            Toleranced // h: mounting face to centre of the free wire, inwards
	Rate             Toleranced // k, N/mm
	DeflectionMax    float64    // limit of the wire, mm, crest included
	Rating           float64    // N, working
	ResetMax         float64    // how far the wire may be re-set, once, mm
	Slot             float64    // play of the stud along the slot (across: the wire's own float), mm
	WireFloat        float64    // lateral float of the wire, diametral, mm
	Length, Width    float64    // foot, along and across the rivet line
	Height           float64    // room needed behind its mounting face
	FootThickness    float64    // what a rivet joins
	FootArea         float64    // bearing area on the panel, mm²
	CentreHole       Toleranced // hole wanted in the inner panel; 0 nominal: none (welded on the front)
	Rivets           []Hole
	RivetIDs         []string
	CountersinkDeg   float64
	Welds            int      // spots or beads, when welded
	ShimIDs          []string // shims that go under its feet
	ShimStackMax     float64  // mm
	Material         string
	Mass, Cost       float64
	PackSize         int
	Origin
}

// Rivet is one blind rivet.
type Rivet struct {
	ID, Name                 string
	Head                     string // "dome" or "countersunk"
	Diameter                 float64
	HoleMin, HoleMax         float64
	HeadDiameter, HeadHeight float64
	CountersinkDeg           float64 // included angle, 0 for dome
	GripMin, GripMax         float64
	Shear, Tension           float64 // N, minimum ultimate
	TailDiameter, TailLength float64 // set tail, typical
	NoseDiameter             float64 // of the setting tool: room beside upstands
	Material                 string
	Mass, Cost               float64
	PackSize                 int
	Origin
}

// Shim goes under a receptacle's feet.
type Shim struct {
	ID, Name   string
	Thickness  Toleranced
	Material   string
	Mass, Cost float64
	PackSize   int
	Origin
}

// Band is a supplier's own statement for a pair: the stacks that it serves. Single is a list value without limits:
// then From and To are zero, Single is the listed thickness, and the chance is not known.
type Band struct {
	Stud, Plate, Receptacle string
	Shims                   int
	From, To                float64
	Single                  float64
	Pos                     fault.Pos
}

// Range is what one supplier or shop offers. Its parts are sorted as written.
type Range struct {
	ID, Name    string
	Sample      bool
	Currency    string
	Plates      []Plate
	Studs       []Stud
	Receptacles []Receptacle
	Rivets      []Rivet
	Shims       []Shim
	Bands       []Band
	Materials   []Material // the user's own, added to the embedded ones
	Notes       []string
}
