package plate

import "math"

// Layer is one homogeneous, isotropic layer of a sheet.
type Layer struct {
	E, Nu     float64 // MPa, –
	Thickness float64 // mm
	Density   float64 // tonne/mm³
}

// stiffness returns the plane stress stiffness of the layer (MPa).
func (l Layer) stiffness() [3][3]float64 {
	q := l.E / (1 - l.Nu*l.Nu)
	return [3][3]float64{{q, q * l.Nu, 0}, {q * l.Nu, q, 0}, {0, 0, q * (1 - l.Nu) / 2}}
}

// sheetShear is the share of the cross-section that carries transverse shear in a homogeneous sheet: the energy of the
// parabola that shear stress follows through the thickness [reissner45].
const sheetShear = 5.0 / 6

// Sheet returns the section of a homogeneous isotropic sheet: D = E·t³/(12(1−ν²)), shear stiffness 5/6·G·t. E in MPa, t in mm,
// density in tonne/mm³. It takes what it is given; Model.Check says what is wrong with it.
func Sheet(e, nu, t, density float64) Section {
	s := layered([]Layer{{E: e, Nu: nu, Thickness: t, Density: density}})
	g := sheetShear * e / (2 * (1 + nu)) * t
	s.S = [2][2]float64{{g, 0}, {0, g}}
	return s
}

// Sandwich returns the section of a core between two equal faces: bending by all three layers, each with its own thickness,
// transverse shear by the core alone, at the distance of the faces' middles: S = G·(h+t)²/h for a core of depth h with shear
// modulus G (MPa) and faces of thickness t ([plantema66], for thin stiff faces: E·t of a face ≫ E·h of the core).
func Sandwich(face, core Layer, g float64) Section {
	s := layered([]Layer{face, core, face})
	h := core.Thickness
	d := h + face.Thickness
	k := g * d * d / h
	s.S = [2][2]float64{{k, 0}, {0, k}}
	return s
}

// layered adds up isotropic layers, outermost first, and leaves S to the caller.
func layered(layers []Layer) Section {
	leaves := make([]leaf, len(layers))
	for i, l := range layers {
		leaves[i] = leaf{l.stiffness(), l.Thickness, l.Density}
	}
	s := stacked(leaves)
	if n := len(leaves); n > 0 {
		s.Fibres = []Fibre{
			{Name: "outer face", Z: s.Thickness / 2, Q: leaves[0].q},
			{Name: "inner face", Z: -s.Thickness / 2, Q: leaves[n-1].q},
		}
	}
	return s
}

// leaf is one layer or ply in the panel's axes.
type leaf struct {
	q         [3][3]float64 // MPa
	thickness float64       // mm
	density   float64       // tonne/mm³
}

// stacked adds up leaves, outermost first, about the middle of the whole thickness: A, B, D and mass.
func stacked(leaves []leaf) Section {
	var s Section
	for _, l := range leaves {
		s.Thickness += l.thickness
	}
	top := s.Thickness / 2
	for _, l := range leaves {
		s.add(l.q, top-l.thickness, top)
		s.Mass += l.density * l.thickness
		top -= l.thickness
	}
	s.balance(leaves)
	return s
}

// add adds a layer of stiffness q that reaches from z0 up to z1.
func (s *Section) add(q [3][3]float64, z0, z1 float64) {
	t, z := z1-z0, (z0+z1)/2
	for i := range 3 {
		for j := range 3 {
			s.A[i][j] += q[i][j] * t
			s.B[i][j] += q[i][j] * t * z
			s.D[i][j] += q[i][j] * (t*z*z + t*t*t/12)
		}
	}
}

// balance clears the rounding of B in a stack that reads the same from both faces: there B is zero exactly.
func (s *Section) balance(layers []leaf) {
	for i, l := range layers {
		if l != layers[len(layers)-1-i] {
			return
		}
	}
	s.B = [3][3]float64{}
}

// Thin returns the section without transverse shear: thin plate theory. A section whose S is zero throughout stands for this,
// since a sheet that could not carry shear at all is no plate.
func (s Section) Thin() Section {
	s.S = [2][2]float64{}
	return s
}

// thin tells whether the section does not deform in shear.
func (s *Section) thin() bool { return s.S == [2][2]float64{} }

// Turned returns the section with its axes turned by angle (rad, anticlockwise): what runs along x runs along the direction
// at that angle afterwards. The fibres' layers turn with it.
func (s Section) Turned(angle float64) Section {
	c, n := math.Cos(angle), math.Sin(angle)
	// Strain in the turned axes from strain in the panel's: ε' = R·ε, so a stiffness becomes Rᵀ·K·R.
	r := [3][3]float64{{c * c, n * n, c * n}, {n * n, c * c, -c * n}, {-2 * c * n, 2 * c * n, c*c - n*n}}
	s.A, s.B, s.D = congruent(r, s.A), congruent(r, s.B), congruent(r, s.D)
	x, y, xy := s.S[0][0], s.S[1][1], s.S[0][1]
	s.S[0][0] = c*c*x - 2*c*n*xy + n*n*y
	s.S[1][1] = n*n*x + 2*c*n*xy + c*c*y
	s.S[0][1] = c*n*(x-y) + (c*c-n*n)*xy
	s.S[1][0] = s.S[0][1]
	fibres := make([]Fibre, len(s.Fibres))
	for i, f := range s.Fibres {
		f.Q = congruent(r, f.Q)
		fibres[i] = f
	}
	s.Fibres = fibres
	return s
}

// congruent returns rᵀ·k·r.
func congruent(r, k [3][3]float64) (out [3][3]float64) {
	for i := range 3 {
		for j := range 3 {
			for a := range 3 {
				for b := range 3 {
					out[i][j] += r[a][i] * k[a][b] * r[b][j]
				}
			}
		}
	}
	for i := range 3 {
		for j := range i {
			m := (out[i][j] + out[j][i]) / 2
			out[i][j], out[j][i] = m, m
		}
	}
	return out
}
