package job

import (
	"fmt"

	"panelwright/internal/measure"
	"panelwright/internal/source"
)

// crownMost is the greatest crown over the panel's length that a shallow arc has: a quarter of it turns by 127° in all. Common
// practice, no source: beyond it a panel is a tube, and a straightedge tells nothing.
const crownMost = 0.25

// crown judges the readings against the panel's extent.
func (rd *reader) crown(f *source.Fields, pan *Panel) {
	b := pan.Outline.Outer.Bounds()
	for key, of := range map[string][2]float64{"along": {pan.Crown.Along, b.Width()}, "across": {pan.Crown.Across, b.Height()}} {
		if most := crownMost * of[1]; of[1] > 0 && of[0] > most {
			f.Fault(key, RuleOutOfRange, fmt.Sprintf("a crown of %s on %s; accepted: up to %s, a quarter", rd.job.size(of[0]), rd.job.size(of[1]), rd.job.size(most)), "measure how far the middle stands above a straightedge that lies over the whole panel")
		}
	}
}

// Curvatures are those of a crowned panel along x and along y, 1/mm, by a circle through the readings: a crown c over a chord L has
// κ = 8c/(4c² + L²). 0 where it is flat.
func (pan *Panel) Curvatures() (x, y float64) {
	b := pan.Outline.Outer.Bounds()
	of := func(c, l float64) float64 {
		if c <= 0 || l <= 0 {
			return 0
		}
		return 8 * c / (4*c*c + l*l)
	}
	return of(pan.Crown.Along, b.Width()), of(pan.Crown.Across, b.Height())
}

// InnerFactors are by how much lengths along x and y are shorter at a depth (mm) below the outer face: 1 − κ·depth.
func (pan *Panel) InnerFactors(depth float64) (x, y float64) {
	kx, ky := pan.Curvatures()
	return 1 - kx*depth, 1 - ky*depth
}

// Undevelopable is about how far (mm) paper misses along the longer side of a panel that is crowned both ways: a strip at a distance r
// beside the middle line is shorter or longer than that by its Gaussian curvature times r²/6 for every mm (the series of a geodesic
// circle's circumference [docarmo76]). 0 for a panel that is crowned one way only, which paper follows true.
func (pan *Panel) Undevelopable() float64 {
	kx, ky := pan.Curvatures()
	b := pan.Outline.Outer.Bounds()
	r := min(b.Width(), b.Height()) / 2
	return max(b.Width(), b.Height()) * kx * ky * r * r / 6
}

// CrownNotes say what a crown means for marking out.
func (pan *Panel) CrownNotes() []string {
	off := pan.Undevelopable()
	if off == 0 {
		return nil
	}
	return []string{fmt.Sprintf("Crowned both ways: paper cannot lie on it true, and misses by about %s along the longer side. Use the tape distances along the edges; the paper only shows what goes where.", measure.MM(off))}
}
