package grip

// Result is how one station closes at the nominal values, and the band in which it closes well.
type Result struct {
	T, R, H, S   float64 // stack, reach, receptacle depth, shims (mm), as counted for the mounting
	Z            float64 // depth of the free wire
	Delta        float64 // δ = Z − R
	DeltaLo      float64 // least deflection that closes well
	DeltaHi      float64 // greatest
	LoBy, HiBy   string  // what sets them: "least preload", "wire limit less crest", "hand torque", "rating", "range's band"
	Preload      float64 // N at nominal δ
	TurnTorque   float64 // N·mm, upper bound, at the crest
	UnlockTorque float64 // N·mm, least, out of the detent
	CamRunsBack  bool    // λ > φ: the detent alone holds
}
