package setout

import "math"

// The stages of the work. A hole's pilot belongs to the first stage and stands in the row of the hole that it starts.
const (
	StagePilot       = 1
	StageOpen        = 2
	StageCountersink = 3
	StageRelief      = 4
)

// The purposes of a hole, in the order in which they are drilled.
const (
	PurposeCentre          = "centre"
	PurposePlateRivet      = "plate rivet"
	PurposeReceptacleRivet = "receptacle rivet"
	PurposeRelief          = "relief"
	PurposeTailCountersink = "rivet tail countersink"
	PurposeBody            = "receptacle body" // in what a receptacle on the front stands on: its body and the stud's end pass
	PurposeCutOut          = "cut-out"         // in a layer between: a foot or a plate passes
)

// The treatments of a rivet's tail. A blind rivet's tail stands proud: on a meeting face it holds the panels apart.
const (
	TailPlain         = "none"
	TailReliefInner   = "relief hole in the inner panel"
	TailReliefBetween = "relief hole in the layer between"
	TailReversed      = "reversed"
	TailSpread        = "spread into a countersink, below flush"
	TailWasher        = "backing washer"
)

// Sizes that no part states; common practice, no source.
const (
	WasherThickness = 0.8     // mm, of a backing washer
	SinkShareMax    = 2.0 / 3 // of a sheet's thickness: the deepest countersink that leaves it an edge
)

// SinkDepth is h = (D − d)/(2·tan(A/2)), mm: how deep a countersink of included angle A (degrees) goes that opens a hole of
// diameter d to D at the surface. D below d gives 0.
func SinkDepth(surface, hole, angleDeg float64) float64 {
	return math.Max(0, surface-hole) / (2 * math.Tan(angleDeg/2*math.Pi/180))
}
