package detail

import (
	"fmt"
	"math"
	"strings"

	"panelwright/internal/stock"
)

// handDrillSteps are the speeds that a hand drill is set to, rev/min (common practice, no source). The last is what most
// reach.
var handDrillSteps = []float64{100, 150, 200, 300, 400, 500, 600, 800, 1000, 1200, 1500, 2000, 2500, 3000}

// RPM returns n = 1000·v/(π·d) in rev/min for a cutting speed v in m/min at the rim of a tool of diameter d in mm. d must be
// positive, otherwise it panics.
func RPM(v, d float64) float64 {
	if !(d > 0) {
		panic(fmt.Sprintf("setout: RPM of a tool of diameter %v", d))
	}
	return 1000 * v / (math.Pi * d)
}

// handDrill rounds a speed down to what a hand drill can be set to, and says so when the drill cannot: it then gets the
// nearest that it has.
func handDrill(n float64) (set float64, remark string) {
	last := handDrillSteps[len(handDrillSteps)-1]
	if n < handDrillSteps[0] {
		return handDrillSteps[0], fmt.Sprintf(", slower than a hand drill's %.0f: work in short touches", handDrillSteps[0])
	}
	if n > last {
		return last, fmt.Sprintf(", more than a hand drill's usual %.0f", last)
	}
	for _, s := range handDrillSteps {
		if s <= n {
			set = s
		}
	}
	return set, ""
}

// holeSpeed returns the speed to set for a drill, or for a countersink, whose speed is divided. 0 when the family's cutting
// speed is not known.
func holeSpeed(f stock.Family, tool string, d float64, sink bool) (rpm float64, basis string) {
	kind := "hss"
	if strings.HasPrefix(tool, "carbide") || strings.HasPrefix(tool, "abrasive") {
		kind = "carbide"
	}
	s, ok := stock.SpeedFor(f, kind)
	if !ok || !(d > 0) {
		return 0, fmt.Sprintf("no cutting speed known for %s", f)
	}
	v, formula := s.LowMPM, "n = 1000·v/(π·d)"
	if sink && s.CountersinkDivisor > 0 {
		v /= s.CountersinkDivisor
		formula = fmt.Sprintf("n = 1000·v/(π·d)/%.0f", s.CountersinkDivisor)
	}
	n := RPM(v, d)
	set, remark := handDrill(n)
	return set, fmt.Sprintf("%s, v %.0f m/min (%s, %s): %.0f rev/min%s", formula, s.LowMPM, s.Source, s.Status, n, remark)
}
