package outline

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"panelwright/internal/plane"
)

// svgScan reads numbers out of path data and lists: parted by blanks, commas, signs, or a second point.
type svgScan struct {
	s    string
	at   int
	node *svgNode
	what string
}

func (c *svgScan) fault(text, hint string) *Fault {
	return &Fault{Line: c.node.line, What: "<" + c.node.name + "> " + c.what, Text: fmt.Sprintf("character %d: %s", c.at+1, text), Hint: hint}
}

func (c *svgScan) blanks() {
	for c.at < len(c.s) && strings.IndexByte(" \t\r\n\f", c.s[c.at]) >= 0 {
		c.at++
	}
}

// gap skips blanks and at most one comma.
func (c *svgScan) gap() {
	c.blanks()
	if c.at < len(c.s) && c.s[c.at] == ',' {
		c.at++
		c.blanks()
	}
}

// more says whether a number begins here.
func (c *svgScan) more() bool {
	c.blanks()
	return c.at < len(c.s) && strings.IndexByte("0123456789+-.,", c.s[c.at]) >= 0
}

func (c *svgScan) number() (float64, error) {
	c.gap()
	i := c.at
	digits := func() (n int) {
		for i < len(c.s) && c.s[i] >= '0' && c.s[i] <= '9' {
			i++
			n++
		}
		return n
	}
	if i < len(c.s) && (c.s[i] == '+' || c.s[i] == '-') {
		i++
	}
	n := digits()
	if i < len(c.s) && c.s[i] == '.' {
		i++
		n += digits()
	}
	if n == 0 {
		found := "the end"
		if c.at < len(c.s) {
			found = quote(c.s[c.at:min(len(c.s), c.at+12)])
		}
		return 0, c.fault(found+" where a number belongs", "save the drawing again as plain SVG")
	}
	if i < len(c.s) && (c.s[i] == 'e' || c.s[i] == 'E') {
		back := i
		i++
		if i < len(c.s) && (c.s[i] == '+' || c.s[i] == '-') {
			i++
		}
		if digits() == 0 {
			i = back // "em" or "ex" of something else
		}
	}
	v, err := strconv.ParseFloat(c.s[c.at:i], 64)
	if err != nil || math.Abs(v) > 1e12 {
		return 0, c.fault(quote(c.s[c.at:i])+"; accepted: a number", "save the drawing again")
	}
	c.at = i
	return v, nil
}

// flag reads 0 or 1, which need no blank behind them.
func (c *svgScan) flag() (bool, error) {
	c.gap()
	if c.at < len(c.s) && (c.s[c.at] == '0' || c.s[c.at] == '1') {
		c.at++
		return c.s[c.at-1] == '1', nil
	}
	return false, c.fault("a flag of an arc that is neither 0 nor 1", "save the drawing again")
}

// svgNumbers reads a list of numbers and nothing else.
func svgNumbers(n *svgNode, what, text string) ([]float64, error) {
	c := svgScan{s: text, node: n, what: what}
	var out []float64
	for {
		c.blanks()
		if c.at == len(c.s) {
			return out, nil
		}
		v, err := c.number()
		if err != nil {
			return nil, err
		}
		if out = append(out, v); len(out) > 2*MostVertices {
			return nil, c.fault("too many numbers", "save the outline alone")
		}
	}
}

// svgPath is a path being drawn.
type svgPath struct {
	r                *svgReader
	n                *svgNode
	at               svgAt
	scan             svgScan
	k                *pen
	start, now, last plane.Point // last: the control point before now, for S and T
	before           byte        // the command before, as a capital
}

// path reads path data [svg2, ch. 9]. Each subpath is a loop; Z closes it.
func (r *svgReader) path(n *svgNode, at svgAt) error {
	p := &svgPath{r: r, n: n, at: at, scan: svgScan{s: n.attr["d"], node: n, what: "path data"}}
	for {
		p.scan.blanks()
		if p.scan.at == len(p.scan.s) {
			return p.end(false)
		}
		c := p.scan.s[p.scan.at]
		if strings.IndexByte("MmLlHhVvCcSsQqTtAaZz", c) < 0 {
			return p.scan.fault(quote(string(c))+" is no command; accepted: M L H V C S Q T A Z", "save the drawing again as plain SVG")
		}
		if p.k == nil && p.before == 0 && c != 'M' && c != 'm' {
			return p.scan.fault(quote(string(c))+" before the first M", "save the drawing again")
		}
		p.scan.at++
		if err := p.command(c); err != nil {
			return err
		}
	}
}

// end finishes the subpath being drawn.
func (p *svgPath) end(closed bool) error {
	k := p.k
	p.k = nil
	if k == nil {
		return nil
	}
	if closed {
		if p.now != p.start {
			k.line(p.start)
		}
		p.now = p.start
	}
	return p.r.add(p.n, p.at, k, closed)
}

// command reads one command with all that follows it: the numbers may come again without its letter.
func (p *svgPath) command(c byte) error {
	relative := c >= 'a'
	kind := c
	if relative {
		kind -= 'a' - 'A'
	}
	if kind == 'Z' {
		err := p.end(true)
		p.before, p.last = 'Z', p.now
		return err
	}
	for first := true; first || p.scan.more(); first = false {
		if kind == 'M' && first {
			if err := p.end(false); err != nil {
				return err
			}
			to, err := p.point(relative)
			if err != nil {
				return err
			}
			p.start, p.now, p.last = to, to, to
			p.k = p.r.pen(p.at, to)
			p.before = 'M'
			continue
		}
		draw := kind
		if draw == 'M' {
			draw = 'L'
		}
		if p.k == nil { // after Z the next subpath begins where the last did
			p.start = p.now
			p.k = p.r.pen(p.at, p.now)
		}
		if err := p.draw(draw, relative); err != nil {
			return err
		}
		p.before = draw
		if p.r.vertices+len(p.k.path.V) > MostVertices {
			return p.scan.fault(fmt.Sprintf("more than %d lines and arcs in all", MostVertices), "save the outline alone")
		}
	}
	return nil
}

func (p *svgPath) point(relative bool) (plane.Point, error) {
	x, err := p.scan.number()
	if err != nil {
		return plane.Point{}, err
	}
	y, err := p.scan.number()
	to := plane.Point{X: x, Y: y}
	if relative {
		to = to.Add(p.now)
	}
	return to, err
}

// draw draws one piece.
func (p *svgPath) draw(kind byte, relative bool) error {
	var pts []plane.Point
	mirrored := p.now.Scale(2).Sub(p.last)
	count := map[byte]int{'L': 1, 'T': 1, 'Q': 2, 'S': 2, 'C': 3}[kind]
	for range count {
		q, err := p.point(relative)
		if err != nil {
			return err
		}
		pts = append(pts, q)
	}
	to := p.now
	switch kind {
	case 'L':
		to = pts[0]
		p.k.line(to)
		p.last = to
	case 'H', 'V':
		v, err := p.scan.number()
		if err != nil {
			return err
		}
		coordinate := &to.X
		if kind == 'V' {
			coordinate = &to.Y
		}
		if relative {
			v += *coordinate
		}
		*coordinate = v
		p.k.line(to)
		p.last = to
	case 'C', 'S':
		if kind == 'S' {
			if p.before != 'C' && p.before != 'S' {
				mirrored = p.now
			}
			pts = append([]plane.Point{mirrored}, pts...)
		}
		to = pts[2]
		p.bezier(p.now, pts[0], pts[1], to)
		p.last = pts[1]
	case 'Q', 'T':
		if kind == 'T' {
			if p.before != 'Q' && p.before != 'T' {
				mirrored = p.now
			}
			pts = append([]plane.Point{mirrored}, pts...)
		}
		to = pts[1]
		p.bezier(p.now, pts[0], to)
		p.last = pts[0]
	case 'A':
		var err error
		if to, err = p.arc(relative); err != nil {
			return err
		}
		p.last = to
	}
	p.now = to
	return nil
}

// bezier draws a Bézier curve, a straight one as a line.
func (p *svgPath) bezier(pts ...plane.Point) {
	a, b := pts[0], pts[len(pts)-1]
	chord := b.Sub(a)
	n := chord.Len()
	const straight = 1e-9 // of the chord
	flat, along := n > 0, 0.0
	for _, q := range pts[1 : len(pts)-1] {
		t := q.Sub(a).Dot(chord) / (n * n)
		flat = flat && math.Abs(q.Sub(a).Cross(chord)) <= straight*n*n && t >= along && t <= 1
		along = t
	}
	if flat {
		p.k.line(b)
		return
	}
	if n == 0 && len(pts) == 3 || pts[0] == pts[1] && n == 0 && pts[2] == a {
		p.k.line(b)
		return
	}
	p.k.curve(bezier(pts...))
}

// arc draws an elliptical arc by its end points [svg2, app. B.2.4, B.2.5]: radii too small to reach are grown until they do.
func (p *svgPath) arc(relative bool) (to plane.Point, err error) {
	var v [3]float64
	for i := range v {
		if v[i], err = p.scan.number(); err != nil {
			return to, err
		}
	}
	large, err := p.scan.flag()
	if err != nil {
		return to, err
	}
	sweep, err := p.scan.flag()
	if err != nil {
		return to, err
	}
	if to, err = p.point(relative); err != nil {
		return to, err
	}
	rx, ry, turn := math.Abs(v[0]), math.Abs(v[1]), v[2]*math.Pi/180
	if to == p.now {
		return to, nil // not drawn
	}
	if rx == 0 || ry == 0 {
		p.k.line(to)
		return to, nil
	}
	half := p.now.Sub(to).Scale(0.5).Rotate(-turn)
	u := plane.Point{X: half.X / rx, Y: half.Y / ry} // on the unit circle's scale
	reach := u.Dot(u)
	if reach > 1 {
		k := math.Sqrt(reach)
		rx, ry, u, reach = rx*k, ry*k, u.Scale(1/k), 1
	}
	off := math.Sqrt(max(0, 1-reach) / reach)
	if large == sweep {
		off = -off
	}
	c := plane.Point{X: off * u.Y, Y: -off * u.X} // of the unit circle, from the middle of the chord
	from, end := u.Sub(c), u.Scale(-1).Sub(c)
	t0 := math.Atan2(from.Y, from.X)
	dt := math.Atan2(from.Cross(end), from.Dot(end))
	if sweep && dt < 0 {
		dt += 2 * math.Pi
	} else if !sweep && dt > 0 {
		dt -= 2 * math.Pi
	}
	centre := p.now.Lerp(to, 0.5).Add(plane.Point{X: c.X * rx, Y: c.Y * ry}.Rotate(turn))
	p.k.ellipse(centre, plane.Point{X: rx}.Rotate(turn), plane.Point{Y: ry}.Rotate(turn), t0, t0+dt)
	last := &p.k.path.V[len(p.k.path.V)-1]
	last.Point = p.at.m.point(to) // exactly as written
	return to, nil
}
