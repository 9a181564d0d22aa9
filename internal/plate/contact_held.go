package plate

import (
	"math"
)

// notHeld says how the panel goes: the rigid motion nearest to where the last step went.
func (r *contactRun) notHeld() *NotHeld {
	e := &NotHeld{Reason: "nothing stops it under this load"}
	if r.c.at == nil {
		return e
	}
	d := make([]float64, r.c.n)
	for i := range d {
		d[i] = r.w[i] - r.prev[i]
	}
	motion, ok := contactPlane(r.c.at, d)
	if !ok {
		return e
	}
	e.Motion = motion
	up, down := 0, 0
	most := 0.0
	for _, p := range r.c.at {
		most = max(most, math.Abs(motion[0]+motion[1]*p[0]+motion[2]*p[1]))
	}
	for _, p := range r.c.at {
		switch v := motion[0] + motion[1]*p[0] + motion[2]*p[1]; {
		case v > 1e-3*most:
			up++
		case v < -1e-3*most:
			down++
		}
	}
	switch {
	case down == 0:
		e.Reason = "it lifts off: the load pulls it outwards and no station holds it"
	case up == 0:
		e.Reason = "it falls through: the load presses it inwards and no support is under it"
	default:
		e.Reason = "it tips: the stations and supports left under the load stand on one line, or on one side of it"
	}
	return e
}

// contactPlane fits m0 + m1·x + m2·y to values at places by least squares; false when the places do not tell.
func contactPlane(at [][2]float64, d []float64) (m [3]float64, ok bool) {
	var a [9]float64
	for i, p := range at {
		v := [3]float64{1, p[0], p[1]}
		for j := range 3 {
			for k := range 3 {
				a[3*j+k] += v[j] * v[k]
			}
			m[j] += v[j] * d[i]
		}
	}
	if len(at) < 3 || !contactEliminate(a[:], m[:], 3) {
		return [3]float64{}, false
	}
	for _, v := range m {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return [3]float64{}, false
		}
	}
	return m, true
}
