package fem

import (
	"path/filepath"

	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// fasteners are the stations of a panel of 1200 × 800 mm that others worked out with the same outside program.
var fasteners = at(20, 20, 600, 20, 1180, 20, 20, 400, 1180, 400, 20, 780, 600, 780, 1180, 780)

// flange is that panel, divided along the given lines.
func flange(x, y []float64) *panel {
	q := new(quads).add(len(x)-1, len(y)-1, func(u, v float64) plane.Point { return plane.Point{X: between(x, u), Y: between(y, v)} }, nil)
	return &panel{quads: q, t: 12, e: 7000, nu: 0.35, rho: 1.5e-9}
}

// flangePads are the places of its flange that push: every 20 mm on the outline and on the rectangle 40 mm inside it.
func flangePads() []plane.Point {
	return append(frame(0, 0, 1200, 800, 20), frame(40, 40, 1120, 720, 20)...)
}

// edgeLines divides a length by 40 mm, more finely at its ends.
func edgeLines(length float64) []float64 {
	return append(append([]float64{0, 10, 20}, even(40, length-40, int(length/40)-2)...), length-20, length-10, length)
}

// even gives n+1 places from a to b.
func even(a, b float64, n int) (out []float64) {
	for i := range n + 1 {
		out = append(out, a+(b-a)*float64(i)/float64(n))
	}
	return out
}

// between gives the place at u among lines, in steps of half.
func between(lines []float64, u float64) float64 {
	i := min(int(u), len(lines)-2)
	return lines[i] + (u-float64(i))*(lines[i+1]-lines[i])
}

// WritePairs writes into dir the input files of the two panels that the speed script gives to the outside program: linear.inp, on
// springs, with about 24,400 unknowns of a plate (three at each node), deflections and stresses printed; and contact.inp, on a
// flange of 384 pads with preload, 22,200 unknowns, five levels of suction. It fails where a file cannot be written.
func WritePairs(dir string) error {
	y := append(append([]float64{0}, even(20, 780, 42)...), 800)
	linear := flange(even(0, 1200, 60), y)
	linear.support(plate.Spring(150), fasteners...)
	linear.linear, linear.stress, linear.cases = true, true, []loads{{pressure: 0.002}}
	if err := linear.write(filepath.Join(dir, "linear.inp")); err != nil {
		return err
	}
	contact := flange(even(0, 1200, 60), even(0, 800, 40))
	contact.support(station(60, 150, 5000), fasteners...)
	contact.support(plate.Pad(2000), flangePads()...)
	for _, q := range []float64{0, 0.0005, 0.001, 0.0015, 0.002} {
		contact.cases = append(contact.cases, loads{pressure: q})
	}
	return contact.write(filepath.Join(dir, "contact.inp"))
}
