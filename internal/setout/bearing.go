package setout

import (
	"math"

	"panelwright/internal/plane"
)

// Bearing is how a panel bears its loads by the panel model: a flat linear sheet on supports that only push and stations that
// pull with their wires.
type Bearing struct {
	Known bool   // false: nothing was computed
	Why   string // then: what is missing, or what the mathematics says, and what would make it known
	Off   bool   // then: nothing holds the panel in some case, whatever its stiffness

	Thickness       float64 // mm
	Nodes, Unknowns int
	Points          int     // interface points
	MeshSize        float64 // mm, longest edge wanted
	LeastAngle      float64 // rad

	Node  []plane.Point // the mesh, for pictures
	Tris  [][3]int32
	Seams []Seam
	Cases []BearingCase // as LoadEstimate.Cases, same order
	Rest  BearingCase   // no load but the seals' push
	Worst int           // the case whose wires are pulled hardest; of several, that whose seam opens most
	Miss  []BearingMiss // each station left out in turn, in the order of the stations

	Support []plane.Point // where the panel may lie on a support: BearingCase.Push has a force for each

	Frequencies  []float64 // Hz, lowest first, stations shut and supports in touch as in the case without load
	FrequencyWhy string    // why there are none
}

// Seam is a line along which the panel lies on a support and may be seen to open: the seat line, or a flange's outer edge. Its gap is w
// there. The inner edges of supports carry the panel too, but a sheet that domes leaves them without any seam that opens.
type Seam struct {
	Support  string
	Name     string // "rear", "right", … of a seat line along an edge; the rib's name
	Along    string // "seat line", "outer edge"
	At       []plane.Point
	S        []float64    // mm along it, as At
	Stations []SeamMark   // stations of the seat line
	Gap      [][2]float64 // see BearingCase.Gap: least and greatest over the cases, as At
}

// SeamMark is a station's place along a seam.
type SeamMark struct {
	Station int // index in Panel.Stations
	S       float64
}

// BearingCase is the panel in one load case.
type BearingCase struct {
	Name string

	Load, Reaction float64 // N, outward load; sum of what stations, supports and seals do to the panel
	Balance        float64 // relative
	Moment         float64 // relative
	Certified      bool    // the certificate, by separate code, finds nothing
	Iterations     int

	CertificateFaults []string // what it finds, in words

	Valid  bool   // inside what small deflection can say
	Reason string // then, or otherwise: with the number

	W          []float64 // mm at every node of the mesh
	WMax       float64   // mm, greatest outward deflection and its place
	WMaxAt     plane.Point
	Sag        float64     // mm, greatest deflection either way over what the supports follow
	Wire       []float64   // N, of each station
	Held       []float64   // N, of each station: the outward load that it holds, its wire less what its seat pushes
	Open       []bool      // the seat at the station has opened
	Prying     float64     // N: sum of the wires' forces less the outward load and the seals' push: what the supports push back
	Push       []float64   // N, of each of Bearing.Support
	Gap        [][]float64 // mm, w along each seam
	GapMax     float64
	GapSeam    int
	GapAt      plane.Point
	InTouch    float64 // share of the support points that push
	Stress     float64 // MPa, greatest by Von Mises for metal, greatest principal for laminate
	StressAt   plane.Point
	StressKind string
}

// BearingMiss is the panel with one station left out, in the case that then is worst.
type BearingMiss struct {
	Station int
	Case    int
	Held    bool   // the panel stays on: the sequence stopped with every station that is left within its limits
	Off     bool   // nothing is left that holds it
	RamAir  bool   // the leading edge opened so far that air came to rest behind the panel
	Why     string // what gives way, or what says that nothing does
	GapMax  float64
	GapAt   plane.Point
	Wire    float64 // N, hardest pulled of the others
	At      int     // which
	Gone    []int   // stations that went after it, in order
	Valid   bool

	CertificateFaults []string // what the certificate finds in that end, in words
}

// Valid says whether the panel model is known and inside its range in every case.
func (b *Bearing) Valid() bool {
	if b == nil || !b.Known {
		return false
	}
	for i := range b.Cases {
		if !b.Cases[i].Valid {
			return false
		}
	}
	return true
}

// Beyond says why the model does not decide: what it lacks, or the case that is farthest beyond its range. "" when it does.
func (b *Bearing) Beyond() string {
	switch {
	case b == nil:
		return "the panel was not reckoned under load"
	case !b.Known:
		return b.Why
	}
	worst := -1
	for i := range b.Cases {
		if c := &b.Cases[i]; !c.Valid && (worst < 0 || c.Sag > b.Cases[worst].Sag) {
			worst = i
		}
	}
	if worst < 0 {
		return ""
	}
	return b.Cases[worst].Name + ": " + b.Cases[worst].Reason
}

// Most is the greatest of a figure over the cases, and its case; sure is the greatest over those cases inside the model's range,
// NaN when there is none.
func (b *Bearing) Most(figure func(c *BearingCase) float64) (most float64, at string, sure float64, sureAt string) {
	most, sure = math.NaN(), math.NaN()
	for i := range b.Cases {
		c := &b.Cases[i]
		v := figure(c)
		if !(v <= most) {
			most, at = v, c.Name
		}
		if c.Valid && !(v <= sure) {
			sure, sureAt = v, c.Name
		}
	}
	return most, at, sure, sureAt
}
