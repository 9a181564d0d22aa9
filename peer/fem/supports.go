package fem

import (
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

// station is a fastener with a preload (N), the rate of its wire and that of its seat.
func station(preload, wire, seat float64) plate.Law {
	return plate.Station(wire, preload/wire, seat)
}

// support puts a law on a place.
func (p *panel) support(law plate.Law, places ...plane.Point) {
	for _, at := range places {
		p.points, p.laws = append(p.points, p.node(at)), append(p.laws, law)
	}
}

func at(xy ...float64) (out []plane.Point) {
	for i := 0; i < len(xy); i += 2 {
		out = append(out, plane.Point{X: xy[i], Y: xy[i+1]})
	}
	return out
}

// frame gives the places every step along the rectangle from (x, y) of w by h, each once.
func frame(x, y, w, h, step float64) (out []plane.Point) {
	for i := range int(math.Round(w / step)) {
		d := step * float64(i)
		out = append(out, at(x+d, y, x+w-d, y+h)...)
	}
	for i := range int(math.Round(h / step)) {
		d := step * float64(i)
		out = append(out, at(x+w, y+d, x, y+h-d)...)
	}
	return out
}
