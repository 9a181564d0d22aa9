package grip

import (
	"fmt"
	"math"

	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// CountsOuter says whether the stack T counts the outer panel for a plate on this face: all but one behind the outer panel.
func CountsOuter(f stock.Face) bool { return f != stock.PlateBehind }

// ShimEffect is what a shim under the receptacle does: +1 tightens (deepens the free wire), −1 loosens, 0 changes nothing.
// A mounting that is none of the three panics.
func ShimEffect(m stock.Mount) int {
	switch m {
	case stock.Behind:
		return 1
	case stock.FrontBesideSeat:
		return -1
	case stock.FrontUnderPanel:
		return 0
	}
	panic(fmt.Sprintf("grip: no mounting %q", m))
}

// FreeWire returns z, the depth of the free wire's centre below the stud's seat (mm): T + s + h behind the inner panel,
// T − s + h in front beside the seat, T + h where the panel rests on the receptacle. T stack, h receptacle depth, s shims.
func FreeWire(m stock.Mount, T, h, s float64) float64 { return T + float64(ShimEffect(m))*s + h }

// Deflection returns δ = z − R (mm): how far the locked stud holds the wire from where it lies free.
func Deflection(z, reach float64) float64 { return z - reach }

// Hard is the rate of a clamp path without a soft layer.
var hard = math.Inf(1)

// Soft is the rate (N/mm) of the soft layers in a clamp path, in series with each other; the zero value is none.
type Soft struct{ give float64 } // mm/N

// NoSoft is a clamp path without soft layers.
var NoSoft = Soft{}

// SoftRate makes a Soft of a rate in N/mm: modulus (N/mm³) times the area squeezed (mm²), several in series as
// 1/(1/k1 + 1/k2). +Inf is none. A rate that is not positive panics.
func SoftRate(rate float64) Soft {
	if !(rate > 0) {
		panic(fmt.Sprintf("grip: a soft layer of %v N/mm", rate))
	}
	return Soft{give: 1 / rate}
}

// Rate returns the rate in N/mm, +Inf for none.
func (s Soft) Rate() float64 {
	if s.give == 0 {
		return hard
	}
	return 1 / s.give
}

// share is δ over the deflection that the station would have if the soft layers did not yield: k_s/(k + k_s).
func (s Soft) share(k float64) float64 { return 1 / (1 + k*s.give) }

// Squeeze solves the wire (rate k, N/mm) against the soft layers in series: k·(δ₀ − x) = k_s·x, where δ₀ is the deflection
// with the layers at their free thickness. δ = δ₀ − x. A δ₀ that is not positive pulls nothing, so nothing yields.
func (s Soft) Squeeze(free, k float64) (delta, x float64) {
	if free <= 0 {
		return free, 0
	}
	delta = free * s.share(k)
	return delta, free - delta
}

// Pair is a stud, a plate, a receptacle and the shims under it, with what the range states for the pair.
type Pair struct {
	Stud       *stock.Stud
	Plate      *stock.Plate // may be nil: only the stack's count and bands that name a plate need it
	Receptacle *stock.Receptacle
	Shim       *stock.Shim // nil when Shims is 0
	Shims      int
	Bands      []stock.Band // of this stud and receptacle, any plate and count of shims; see stock.Range.BandsFor
}

// thick is the thickness of the shims.
func (p Pair) thick() float64 {
	switch {
	case p.Shims == 0:
		return 0
	case p.Shims < 0 || p.Shim == nil:
		panic(fmt.Sprintf("grip: %d shims of %v", p.Shims, p.Shim))
	}
	return float64(p.Shims) * p.Shim.Thickness.Nom
}

// geometry says whether reach, depth and rate are stated.
func (p Pair) geometry() bool { return stock.HasGeometry(p.Stud, p.Receptacle) }

// free returns the deflection at stack T with soft layers at their free thickness.
func (p Pair) free(T float64) float64 {
	return Deflection(FreeWire(p.Receptacle.Mount, T, p.Receptacle.Depth.Nom, p.thick()), p.Stud.Reach.Nom)
}

// DeltaSum is the distribution of δ₀ = T ± s + h − R: the stack's parts, and the parts' own limits, which count as rectangular
// [jcgm100, 4.3.7]. Soft layers do not yield in it. It is meaningful for a pair with geometry only; others panic.
func (p Pair) DeltaSum(stack spread.Sum) spread.Sum {
	if !p.geometry() {
		panic("grip: DeltaSum of a pair without reach, depth and rate")
	}
	out := make(spread.Sum, 0, len(stack)+3+p.Shims)
	out = append(out, stack...)
	out = append(out, about(p.Receptacle.Depth, 1), about(p.Stud.Reach, -1))
	effect := float64(ShimEffect(p.Receptacle.Mount))
	if effect == 0 {
		return out
	}
	p.thick() // panics when shims are counted and none is given
	for range p.Shims {
		out = append(out, about(p.Shim.Thickness, effect))
	}
	return out
}

// about is one part's contribution.
func about(t stock.Toleranced, sign float64) spread.Part {
	if t.Tol == 0 {
		return spread.ExactAt(sign * t.Nom)
	}
	return spread.RectangularAbout(sign*t.Nom, t.Tol)
}
