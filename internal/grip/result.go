package grip

// Result is how one station closes at the nominal values, and the band in which it closes well. Figures that the range does
// not state are NaN.
type Result struct {
	T, R, H, S       float64 // stack, reach, receptacle depth, shims (mm), as counted for the mounting
	Z                float64 // depth of the wire when free, soft layers at their locked squeeze
	Delta            float64 // δ = Z − R
	DeltaLo          float64 // least deflection that closes well
	DeltaHi          float64 // greatest
	LoBy, HiBy       string  // what sets them: the By constants
	StackLo, StackHi float64 // the nominal stacks T at which δ is DeltaLo and DeltaHi
	Single           bool    // a list of single thicknesses: StackLo = StackHi is the listed one, and the chance is not known
	Squeeze          float64 // by how much soft layers yield when locked
	Preload          float64 // N at nominal δ
	TurnTorque       float64 // N·mm, upper bound, at the crest
	UnlockTorque     float64 // N·mm, least, out of the detent
	UnlockNoFriction float64 // N·mm, least, of the detent alone, friction shaken off
	CamRunsBack      bool    // λ > φ: the detent alone holds
}

// ClosesWell says whether the nominal stack lies in the band. For a list of single thicknesses it is false: it cannot be known.
func (r Result) ClosesWell() bool { return !r.Single && r.T >= r.StackLo && r.T <= r.StackHi }
