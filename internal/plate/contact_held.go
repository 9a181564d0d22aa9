package plate

import "math"

// notHeld says how the panel goes: the rigid motion nearest to d.
func (r *contactRun) notHeld(d []float64) *NotHeld {
	e := &NotHeld{Reason: "nothing stops it under this load"}
	motion, most := contactPlane(r.c.at, d)
	if most == 0 {
		return e
	}
	up, down := 0, 0
	for i := range motion {
		motion[i] /= most
	}
	e.Motion = motion
	for _, p := range r.c.at {
		switch v := motion[0] + motion[1]*p[0] + motion[2]*p[1]; {
		case v > 1e-3:
			up++
		case v < -1e-3:
			down++
		}
	}
	still := len(r.c.at) - up - down
	switch {
	case up > 0 && down > 0:
		e.Reason = "it tips: the stations and supports left under the load stand on one line, or on one side of it"
	case still > 0:
		e.Reason = "it turns about the only stations and supports that are left under the load: they stand on one line"
	case down == 0:
		e.Reason = "it lifts off: the load pulls it outwards and no station holds it"
	default:
		e.Reason = "it falls through: the load presses it inwards and no support is under it"
	}
	return e
}

// contactPlane fits m0 + m1·x + m2·y to values at places by least squares, the smallest such plane where the places stand on a
// line, and returns the greatest magnitude that it has at them; 0 when there is nothing to say.
func contactPlane(at [][2]float64, d []float64) (m [3]float64, most float64) {
	if len(at) == 0 {
		return m, 0
	}
	var mid [2]float64
	for _, p := range at {
		mid[0], mid[1] = mid[0]+p[0]/float64(len(at)), mid[1]+p[1]/float64(len(at))
	}
	reach := 0.0
	for _, p := range at {
		reach = max(reach, math.Hypot(p[0]-mid[0], p[1]-mid[1]))
	}
	if reach == 0 {
		reach = 1
	}
	var a [9]float64
	var b [3]float64
	for i, p := range at {
		v := [3]float64{1, (p[0] - mid[0]) / reach, (p[1] - mid[1]) / reach}
		for j := range 3 {
			for k := range 3 {
				a[3*j+k] += v[j] * v[k]
			}
			b[j] += v[j] * d[i]
		}
	}
	values, vectors := denseEigen(a[:], 3)
	for k, l := range values {
		if l < 1e-9*float64(len(at)) {
			continue
		}
		var along [3]float64
		dot := 0.0
		for j := range 3 {
			along[j] = vectors[3*j+k]
			dot += along[j] * b[j]
		}
		for j := range 3 {
			m[j] += along[j] * dot / l
		}
	}
	m[1], m[2] = m[1]/reach, m[2]/reach
	m[0] -= m[1]*mid[0] + m[2]*mid[1]
	for _, p := range at {
		most = max(most, math.Abs(m[0]+m[1]*p[0]+m[2]*p[1]))
	}
	if math.IsNaN(most) || math.IsInf(most, 0) {
		return [3]float64{}, 0
	}
	return m, most
}
