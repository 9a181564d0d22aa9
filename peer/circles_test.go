package peer

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// circle is a whole circle on a page, in mm from its top left corner, y downwards.
type circle struct {
	at            point
	diameter, pen float64
	dashed        bool
}

// readCircles has poppler turn a page into SVG and takes the circles out of it. PDF knows no circles: they are closed paths
// of curves all of whose points are equally far from their middle.
func readCircles(tmp, file string, number int) ([]circle, error) {
	n := strconv.Itoa(number)
	// Without these two flags the page is shrunk to whole points and moved to their middle.
	if _, err := runIn(tmp, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", n, "-l", n, file, "page.svg"); err != nil {
		return nil, err
	}
	text, err := os.ReadFile(filepath.Join(tmp, "page.svg"))
	if err != nil {
		return nil, err
	}
	var out []circle
	dec := xml.NewDecoder(strings.NewReader(string(text)))
	for {
		token, err := dec.Token()
		if err == io.EOF {
			return out, nil
		}
		if err != nil {
			return nil, fmt.Errorf("page %d: %w", number, err)
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "path" {
			c, ok, err := circleOf(e.Attr)
			if err != nil {
				return nil, fmt.Errorf("page %d: %w", number, err)
			}
			if ok {
				out = append(out, c)
			}
		}
	}
}

var matrix = regexp.MustCompile(`^matrix\(([^)]*)\)$`)

// circleOf reads a stroked path, and says whether it is a circle.
func circleOf(attrs []xml.Attr) (c circle, ok bool, err error) {
	has := map[string]string{}
	for _, a := range attrs {
		has[a.Name.Local] = a.Value
	}
	for _, s := range strings.Split(has["style"], ";") {
		if k, v, ok := strings.Cut(s, ":"); ok {
			has[k] = v
		}
	}
	if has["stroke"] == "" || has["stroke"] == "none" {
		return c, false, nil
	}
	m := [6]float64{1, 0, 0, 1, 0, 0}
	if t := has["transform"]; t != "" {
		args := matrix.FindStringSubmatch(t)
		if args == nil {
			return c, false, fmt.Errorf("transform %q is not a matrix", t)
		}
		for i, s := range strings.Split(args[1], ",") {
			if m[i], err = strconv.ParseFloat(s, 64); err != nil {
				return c, false, err
			}
		}
	}
	pts, ok, err := curvePoints(has["d"])
	if !ok || err != nil {
		return c, false, err
	}
	for i, p := range pts {
		pts[i] = point{(m[0]*p.x + m[2]*p.y + m[4]) * mmPerPoint, (m[1]*p.x + m[3]*p.y + m[5]) * mmPerPoint}
	}
	c, ok = circleThrough(pts)
	if pen, e := strconv.ParseFloat(has["stroke-width"], 64); e == nil {
		c.pen = pen * math.Sqrt(math.Abs(m[0]*m[3]-m[1]*m[2])) * mmPerPoint
	}
	c.dashed = has["stroke-dasharray"] != ""
	return c, ok, nil
}

// curvePoints gives the ends and the middles of the curves of a path that is one closed run of at least four cubic curves.
func curvePoints(d string) (pts []point, ok bool, err error) {
	f := strings.Fields(d)
	if len(f) < 1+2+4*7 || f[0] != "M" || !strings.Contains(d, "Z") {
		return nil, false, nil
	}
	number := func(i int) float64 {
		v, e := strconv.ParseFloat(f[i], 64)
		if e != nil {
			err = fmt.Errorf("path %.40q: %w", d, e)
		}
		return v
	}
	at := point{number(1), number(2)}
	i := 3
	for ; i+6 < len(f) && f[i] == "C"; i += 7 {
		a, b := point{number(i + 1), number(i + 2)}, point{number(i + 3), number(i + 4)}
		end := point{number(i + 5), number(i + 6)}
		pts = append(pts, at, point{(at.x + 3*a.x + 3*b.x + end.x) / 8, (at.y + 3*a.y + 3*b.y + end.y) / 8})
		at = end
	}
	return pts, i < len(f) && f[i] == "Z" && len(pts) >= 8, err
}

// circleThrough says whether points evenly spread round a circle are all equally far from their middle, within what the
// SVG's rounding (1/256 point) explains.
func circleThrough(pts []point) (c circle, ok bool) {
	const round = 0.01 // mm
	n := float64(len(pts))
	for _, p := range pts {
		c.at.x += p.x / n
		c.at.y += p.y / n
	}
	least, most := math.Inf(1), 0.0
	for _, p := range pts {
		r := p.dist(c.at)
		least, most = min(least, r), max(most, r)
	}
	c.diameter = least + most
	return c, most-least < round && most > round
}

// The reader knows a circle of 10 mm, moved and with y turned over, and takes no square or ellipse for one.
func TestReadsCircles(t *testing.T) {
	const k = 0.5522847498 // 4/3·tan(π/8)
	ring := func(a, b float64) string {
		return fmt.Sprintf("M %g 0 C %g %g %g %g 0 %g C %g %g %g %g %g 0 C %g %g %g %g 0 %g C %g %g %g %g %g 0 Z M %g 0 ",
			a, a, b*k, a*k, b, b, -a*k, b, -a, b*k, -a, -a, -b*k, -a*k, -b, -b, a*k, -b, a, -b*k, a, a)
	}
	attrs := func(d string) []xml.Attr {
		return []xml.Attr{{Name: xml.Name{Local: "style"}, Value: "fill:none;stroke-width:1;stroke:rgb(0%,0%,0%);stroke-dasharray:2,1"},
			{Name: xml.Name{Local: "d"}, Value: d}, {Name: xml.Name{Local: "transform"}, Value: "matrix(1,0,0,-1,72,144)"}}
	}
	r := 5 / mmPerPoint
	c, ok, err := circleOf(attrs(ring(r, r)))
	if err != nil || !ok || c.at.dist(point{25.4, 50.8}) > 1e-6 || math.Abs(c.diameter-10) > 0.005 || math.Abs(c.pen-mmPerPoint) > 1e-9 || !c.dashed {
		t.Errorf("a circle reads as %+v, %v, %v", c, ok, err)
	}
	for _, d := range []string{ring(r, 1.01*r), "M 0 0 L 9 0 L 9 9 L 0 9 Z M 0 0 "} {
		if c, ok, err := circleOf(attrs(d)); ok || err != nil {
			t.Errorf("%q reads as a circle: %+v, %v", d, c, err)
		}
	}
}
