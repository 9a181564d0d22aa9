package plate

import (
	"fmt"
	"math"
)

// Ply is one layer of unlike stiffness along (1) and across (2) its fibres.
type Ply struct {
	E1, E2, Nu12  float64 // MPa, MPa, –: ν₁₂ is the narrowing across under a pull along
	G12, G13, G23 float64 // MPa: in the plane; out of it along and across
	Angle         float64 // rad, from the panel's x to the fibres, anticlockwise as seen from outside
	Thickness     float64 // mm
	Density       float64 // tonne/mm³
}

// Stiffness returns the ply's plane stress stiffness in its own axes (MPa).
func (p Ply) Stiffness() [3][3]float64 {
	// ν₂₁ = ν₁₂·E₂/E₁ by symmetry.
	d := 1 - p.Nu12*p.Nu12*p.E2/p.E1
	return [3][3]float64{{p.E1 / d, p.Nu12 * p.E2 / d, 0}, {p.Nu12 * p.E2 / d, p.E2 / d, 0}, {0, 0, p.G12}}
}

// turn returns what makes strains along the fibres of strains in the panel's axes (ε_x, ε_y, γ_xy).
func (p Ply) turn() [3][3]float64 {
	c, n := math.Cos(p.Angle), math.Sin(p.Angle)
	return [3][3]float64{{c * c, n * n, c * n}, {n * n, c * c, -c * n}, {-2 * c * n, 2 * c * n, c*c - n*n}}
}

// check says what is wrong with a ply.
func (p Ply) check(place string) error {
	for _, v := range []struct {
		name string
		v    float64
	}{{"E1", p.E1}, {"E2", p.E2}, {"G12", p.G12}, {"G13", p.G13}, {"G23", p.G23}, {"thickness", p.Thickness}} {
		if !(v.v > 0) || math.IsInf(v.v, 0) {
			return &Unsound{place, fmt.Sprintf("its %s is %g; more than nothing is needed", v.name, v.v)}
		}
	}
	// A stiffness that gives back more than was put in: ν₁₂² ≥ E₁/E₂ [jones99].
	if !(p.Nu12*p.Nu12 < p.E1/p.E2) {
		return &Unsound{place, fmt.Sprintf("its Nu12 is %g; with E1/E2 = %.3g less than %.3g is possible", p.Nu12, p.E1/p.E2, math.Sqrt(p.E1/p.E2))}
	}
	if math.IsNaN(p.Angle) || math.IsInf(p.Angle, 0) || !(p.Density >= 0) || math.IsInf(p.Density, 0) {
		return &Unsound{place, fmt.Sprintf("its angle or density is not finite, or negative: %g, %g", p.Angle, p.Density)}
	}
	return nil
}

// Laminate returns the section of plies, outermost first, by classical lamination [jones99]. Its transverse shear stiffness is that of
// the shear stresses that balance the bending stresses through the thickness, with M_x alone growing along x and M_y alone along y
// [rohwer88]: exactly 5/6·G·t for one ply, nearly the core's for a sandwich. Fibres are the faces of every ply. A stack that does not
// read the same from both faces has a B; what cannot carry it says so. *Unsound for a ply that cannot be.
func Laminate(plies []Ply) (Section, error) {
	if len(plies) == 0 {
		return Section{}, &Unsound{"laminate", "no plies"}
	}
	leaves := make([]leaf, len(plies))
	for i, p := range plies {
		if err := p.check(fmt.Sprintf("ply %d from outside", i+1)); err != nil {
			return Section{}, err
		}
		leaves[i] = leaf{congruent(p.turn(), p.Stiffness()), p.Thickness, p.Density}
	}
	s := stacked(leaves)
	top := s.Thickness / 2
	for i, l := range leaves {
		s.Fibres = append(s.Fibres, Fibre{Name: fmt.Sprintf("ply %d, outer face", i+1), Z: top, Q: l.q},
			Fibre{Name: fmt.Sprintf("ply %d, inner face", i+1), Z: top - l.thickness, Q: l.q})
		top -= l.thickness
	}
	return s, s.shear(plies, leaves)
}

// Strains returns the middle's strains and the curvatures under forces n (N/mm) and moments m (N·mm/mm): the six of the section solved
// together, so that B counts. *Unsound when the section is singular.
func (s *Section) Strains(n, m [3]float64) (strain, curvature [3]float64, err error) {
	// Lengths are counted in thicknesses, or the pivots cannot be compared.
	t := s.Thickness
	var k [6][7]float64
	for i := range 3 {
		k[i][6], k[3+i][6] = n[i], m[i]/t
		for j := range 3 {
			k[i][j], k[i][3+j] = s.A[i][j], s.B[i][j]/t
			k[3+i][j], k[3+i][3+j] = s.B[i][j]/t, s.D[i][j]/(t*t)
		}
	}
	const least = 1e-14 // of A's greatest, of a pivot that is more than rounding
	floor := least * math.Max(s.A[0][0], s.A[1][1])
	for i := range 6 {
		if !(k[i][i] > floor) { // of a positive matrix every pivot is positive, in any order
			return strain, curvature, &Unsound{"section", "A, B and D together are not positive"}
		}
		for r := range 6 {
			if r == i {
				continue
			}
			f := k[r][i] / k[i][i]
			for c := i; c < 7; c++ {
				k[r][c] -= f * k[i][c]
			}
		}
	}
	for i := range 3 {
		strain[i], curvature[i] = k[i][6]/k[i][i], k[3+i][6]/k[3+i][3+i]/t
	}
	return strain, curvature, nil
}

// shear sets S from the energy of the shear stresses through the thickness.
func (s *Section) shear(plies []Ply, leaves []leaf) error {
	var grow [2][2][3]float64 // by shear force along x and y: what the middle's strains and the curvatures grow by along that axis
	for a := range 2 {
		var m [3]float64
		m[a] = 1
		strain, curvature, err := s.Strains([3]float64{}, m)
		if err != nil {
			return err
		}
		grow[a] = [2][3]float64{strain, curvature}
	}
	// Three points are exact for the square of a parabola.
	gauss := [3][2]float64{{-math.Sqrt(0.6), 5.0 / 9}, {0, 8.0 / 9}, {math.Sqrt(0.6), 5.0 / 9}}
	var flow [2][2]float64 // [place][force]: shear stress xz, yz at the bottom of the ply
	var flex [2][2]float64
	z := -s.Thickness / 2
	for i := len(plies) - 1; i >= 0; i-- {
		c, n := math.Cos(plies[i].Angle), math.Sin(plies[i].Angle)
		soft := [2]float64{1 / plies[i].G13, 1 / plies[i].G23}
		along := [2][2]float64{{c*c*soft[0] + n*n*soft[1], c * n * (soft[0] - soft[1])}, {0, n*n*soft[0] + c*c*soft[1]}}
		along[1][0] = along[0][1]
		h := plies[i].Thickness
		for _, g := range gauss {
			f := shearFlow(flow, &leaves[i].q, &grow, z, z+h*(1+g[0])/2)
			for a := range 2 {
				for b := range 2 {
					for k := range 2 {
						for l := range 2 {
							flex[a][b] += g[1] * h / 2 * f[k][a] * along[k][l] * f[l][b]
						}
					}
				}
			}
		}
		flow = shearFlow(flow, &leaves[i].q, &grow, z, z+h)
		z += h
	}
	mixed := (flex[0][1] + flex[1][0]) / 2
	det := flex[0][0]*flex[1][1] - mixed*mixed
	s.S = [2][2]float64{{flex[1][1] / det, -mixed / det}, {-mixed / det, flex[0][0] / det}}
	return nil
}

// shearFlow adds what bending stresses of stiffness q that grow along the sheet take from the shear stress between z0 and z1.
func shearFlow(flow [2][2]float64, q *[3][3]float64, grow *[2][2][3]float64, z0, z1 float64) [2][2]float64 {
	// Along x the growing stresses are σ_x and τ_xy, along y τ_xy and σ_y: rows of q for (xz, yz).
	rows := [2][2]int{{0, 2}, {2, 1}}
	for a := range 2 {
		for k := range 2 {
			row := q[rows[a][k]]
			for j := range 3 {
				flow[k][a] -= row[j] * (grow[a][0][j]*(z1-z0) + grow[a][1][j]*(z1*z1-z0*z0)/2)
			}
		}
	}
	return flow
}
