package plate

import "panelwright/internal/plane"

// BendingStiffness is the stiffness of one triangle with corners p, anticlockwise, in bending and transverse shear: 9 × 9, row after row,
// over w, θx, θy of each corner in turn (N/mm, N, N·mm). It is the element of this package, for models that do more than bend.
func BendingStiffness(p [3]plane.Point, s *Section) (ke [81]float64) {
	e := newElementShape(&p, s)
	e.stiffness(s, &ke)
	return ke
}
