package shell

import "math"

// Pin holds a node in the plane as a stud holds its hole: free within the radial clearance, then a bearing stiffness, along the line from
// where the hole's centre was when the sheet was not loaded. It pulls back with Rate·(r − Clearance), so its energy is convex, and a sheet
// without buckling has one state.
type Pin struct {
	Node      int32
	Clearance float64 // mm, radial
	Rate      float64 // N/mm, bearing of stud and hole
	Centre    float64 // N/mm about the middle of the hole: without force of its own, it says where a sheet lies that nothing else holds
}

// moved is where x has a node in the plane.
func (s *System) moved(node int32, x []float64) (d [2]float64) {
	for k, at := range [2]int{U, V} {
		if u := s.number[perNode*int(node)+at]; u >= 0 {
			d[k] = x[u]
		}
	}
	return d
}

// Hold is the force (N) that the pin has from a sheet moved by d: what the local checks of bearing, stud and laminate take.
func (p Pin) Hold(d [2]float64) [2]float64 {
	f := p.Centre
	if r := math.Hypot(d[0], d[1]); r > p.Clearance {
		f += p.Rate * (1 - p.Clearance/r)
	}
	return [2]float64{f * d[0], f * d[1]}
}

func (p Pin) energy(d [2]float64) float64 {
	r := math.Hypot(d[0], d[1])
	over := max(0, r-p.Clearance)
	return (p.Centre*r*r + p.Rate*over*over) / 2
}

// tangent is the derivative of Hold: the whole rate along the line of the pull, across it what turning that line gives.
func (p Pin) tangent(d [2]float64) (k [2][2]float64) {
	k[0][0], k[1][1] = p.Centre, p.Centre
	r := math.Hypot(d[0], d[1])
	if r < p.Clearance {
		return k
	}
	if p.Clearance == 0 {
		k[0][0], k[1][1] = k[0][0]+p.Rate, k[1][1]+p.Rate
		return k
	}
	n := [2]float64{d[0] / r, d[1] / r}
	across := p.Rate * (1 - p.Clearance/r)
	for a := range 2 {
		for b := range 2 {
			k[a][b] += (p.Rate - across) * n[a] * n[b]
		}
		k[a][a] += across
	}
	return k
}
