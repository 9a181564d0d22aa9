package plate

import "math"

// Strength is what a ply bears, all positive, MPa; zero where it is not known.
type Strength struct {
	AlongPull, AlongPush   float64
	AcrossPull, AcrossPush float64
	Shear                  float64
}

// Criterion says when a ply fails.
type Criterion int

// Criteria.
const (
	// GreatestStrain compares each strain along the fibres' axes with its own limit, strength over stiffness.
	GreatestStrain Criterion = iota
	// TsaiHill adds the stresses up as energy of distortion would, each strength by the sign of its stress [azzi65].
	TsaiHill
)

// FirstPly is the ply that fails first.
type FirstPly struct {
	Ply    int     // from outside, from 0
	Outer  bool    // at its outer face
	Factor float64 // by which the load may grow until it fails; +Inf for no load
	Mode   string  // along, across or shear for the greatest strain; the largest share for TsaiHill
}

// Fails returns the ply that fails first under the middle's strains and curvatures (panel's axes, 1 and 1/mm); *Unsound when the
// strengths are not one for each ply or one of them is not positive: what is not known is not taken for endless.
func Fails(plies []Ply, strengths []Strength, strain, curvature [3]float64, by Criterion) (FirstPly, error) {
	worst := FirstPly{Ply: -1, Factor: math.Inf(1)}
	if len(plies) != len(strengths) || len(plies) == 0 {
		return worst, &Unsound{"laminate", "strengths are not one for each ply"}
	}
	top := 0.0
	for _, p := range plies {
		top += p.Thickness / 2
	}
	for i, p := range plies {
		s := strengths[i]
		if !(s.AlongPull > 0 && s.AlongPush > 0 && s.AcrossPull > 0 && s.AcrossPush > 0 && s.Shear > 0) {
			return worst, &Unsound{"laminate", "a strength of a ply is missing or not positive"}
		}
		// Beyond this the energy of some stress would be negative, and no load would break the ply.
		if by == TsaiHill && !(max(s.AcrossPull, s.AcrossPush) < 2*min(s.AlongPull, s.AlongPush)) {
			return worst, &Unsound{"laminate", "a ply is twice as strong across its fibres as along: not for this criterion"}
		}
		r := p.turn()
		for f, z := range [2]float64{top, top - p.Thickness} {
			var e [3]float64
			for a := range 3 {
				for b := range 3 {
					e[a] += r[a][b] * (strain[b] + z*curvature[b])
				}
			}
			if factor, mode := p.fails(s, e, by); factor < worst.Factor {
				worst = FirstPly{i, f == 0, factor, mode}
			}
		}
		top -= p.Thickness
	}
	return worst, nil
}

// fails returns the factor on strains e along the ply's axes at which it fails.
func (p Ply) fails(s Strength, e [3]float64, by Criterion) (float64, string) {
	names := [3]string{"along", "across", "shear"}
	var share [3]float64 // of what each can bear
	switch by {
	case TsaiHill:
		q := p.Stiffness()
		s1 := q[0][0]*e[0] + q[0][1]*e[1]
		s2 := q[1][0]*e[0] + q[1][1]*e[1]
		x := signed(s1, s.AlongPull, s.AlongPush)
		share = [3]float64{s1 / x, s2 / signed(s2, s.AcrossPull, s.AcrossPush), p.G12 * e[2] / s.Shear}
		sum := share[0]*share[0] - s1*s2/(x*x) + share[1]*share[1] + share[2]*share[2]
		return 1 / math.Sqrt(sum), names[greatest(share)]
	default:
		share = [3]float64{
			e[0] * p.E1 / signed(e[0], s.AlongPull, s.AlongPush),
			e[1] * p.E2 / signed(e[1], s.AcrossPull, s.AcrossPush),
			e[2] * p.G12 / s.Shear,
		}
		at := greatest(share)
		return 1 / math.Abs(share[at]), names[at]
	}
}

// signed returns the strength for the sign of what loads it.
func signed(v, pull, push float64) float64 {
	if v < 0 {
		return push
	}
	return pull
}

// greatest returns the place of the greatest magnitude.
func greatest(v [3]float64) (at int) {
	for i := range v {
		if math.Abs(v[i]) > math.Abs(v[at]) {
			at = i
		}
	}
	return at
}
