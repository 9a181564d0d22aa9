package outline

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
)

// svgShapes draw the basic shapes [svg2, ch. 10] and the path.
var svgShapes = map[string]func(*svgReader, *svgNode, svgAt) error{
	"path": (*svgReader).path, "rect": (*svgReader).rect, "circle": (*svgReader).round, "ellipse": (*svgReader).round,
	"line": (*svgReader).straight, "polyline": (*svgReader).points, "polygon": (*svgReader).points,
}

func (r *svgReader) straight(n *svgNode, at svgAt) error {
	v, err := r.lengths(n, at, "x1", "y1", "x2", "y2")
	if err != nil {
		return err
	}
	k := r.pen(at, plane.Point{X: v[0], Y: v[1]})
	k.line(plane.Point{X: v[2], Y: v[3]})
	return r.add(n, at, k, false)
}

func (r *svgReader) points(n *svgNode, at svgAt) error {
	v, err := svgNumbers(n, "points", n.attr["points"])
	if err != nil {
		return err
	}
	if len(v)%2 != 0 {
		return &Fault{Line: n.line, What: "<" + n.name + ">", Text: fmt.Sprintf("%d numbers in points; accepted: pairs", len(v)), Hint: "save the drawing again"}
	}
	if len(v) < 4 {
		r.leave(n, "fewer than two points")
		return nil
	}
	k := r.pen(at, plane.Point{X: v[0], Y: v[1]})
	for i := 2; i < len(v); i += 2 {
		k.line(plane.Point{X: v[i], Y: v[i+1]})
	}
	if n.name == "polygon" {
		k.line(plane.Point{X: v[0], Y: v[1]})
	}
	return r.add(n, at, k, n.name == "polygon")
}

// round draws circles and ellipses.
func (r *svgReader) round(n *svgNode, at svgAt) error {
	v, err := r.lengths(n, at, "cx", "cy", "rx", "ry", "r")
	if err != nil {
		return err
	}
	rx, ry := v[2], v[3]
	if n.name == "circle" {
		rx, ry = v[4], v[4]
	} else if n.attr["rx"] == "" || n.attr["rx"] == "auto" {
		rx = ry
	} else if n.attr["ry"] == "" || n.attr["ry"] == "auto" {
		ry = rx
	}
	if rx < 0 || ry < 0 {
		return &Fault{Line: n.line, What: "<" + n.name + ">", Text: fmt.Sprintf("radii of %g and %g; accepted: more than 0", rx, ry), Hint: "draw it again"}
	}
	if rx == 0 || ry == 0 {
		r.leave(n, "a radius of 0: it is not drawn")
		return nil
	}
	c := plane.Point{X: v[0], Y: v[1]}
	k := r.pen(at, c.Add(plane.Point{X: rx}))
	k.ellipse(c, plane.Point{X: rx}, plane.Point{Y: ry}, 0, 2*math.Pi)
	return r.add(n, at, k, true)
}

// rect draws a rectangle with its corners round where rx or ry says so: each is the other's when missing, and at most half a side.
func (r *svgReader) rect(n *svgNode, at svgAt) error {
	v, err := r.lengths(n, at, "x", "y", "width", "height", "rx", "ry")
	if err != nil {
		return err
	}
	x, y, w, h, rx, ry := v[0], v[1], v[2], v[3], v[4], v[5]
	if w < 0 || h < 0 || rx < 0 || ry < 0 {
		return &Fault{Line: n.line, What: "<rect>", Text: fmt.Sprintf("%g × %g with radii %g and %g; accepted: none below 0", w, h, rx, ry), Hint: "draw it again"}
	}
	if w == 0 || h == 0 {
		r.leave(n, "a side of 0: it is not drawn")
		return nil
	}
	if n.attr["rx"] == "" || n.attr["rx"] == "auto" {
		rx = ry
	} else if n.attr["ry"] == "" || n.attr["ry"] == "auto" {
		ry = rx
	}
	rx, ry = min(rx, w/2), min(ry, h/2)
	if rx == 0 || ry == 0 {
		rx, ry = 0, 0
	}
	k := r.pen(at, plane.Point{X: x + rx, Y: y})
	quarter := math.Pi / 2
	for i, c := range []struct{ to, centre plane.Point }{
		{plane.Point{X: x + w - rx, Y: y}, plane.Point{X: x + w - rx, Y: y + ry}},
		{plane.Point{X: x + w, Y: y + h - ry}, plane.Point{X: x + w - rx, Y: y + h - ry}},
		{plane.Point{X: x + rx, Y: y + h}, plane.Point{X: x + rx, Y: y + h - ry}},
		{plane.Point{X: x, Y: y + ry}, plane.Point{X: x + rx, Y: y + ry}},
	} {
		k.line(c.to)
		if rx > 0 {
			from := -quarter + float64(i)*quarter
			k.ellipse(c.centre, plane.Point{X: rx}, plane.Point{Y: ry}, from, from+quarter)
		}
	}
	if rx == 0 {
		k.line(plane.Point{X: x, Y: y})
	}
	return r.add(n, at, k, true)
}
