package survey

import (
	"cmp"
	"math"
	"slices"

	"panelwright/internal/plane"
)

const (
	mostKept   = 256 // shapes kept while corners are placed
	mostStarts = 24  // shapes adjusted
)

// placing is a shape of which some corners stand. Corners not placed are NaN.
type placing struct {
	at      []plane.Point
	cost    float64 // squared misfit of the readings not used for placing, by their standard uncertainty
	crosses int     // pairs of outline edges that cross
	reflex  int     // corners at which the outline of those that stand turns to the right
}

// link is what is known of the distance between two corners: the weighted mean of its readings.
type link struct{ length, unc float64 }

func (n Net) links() [][]link {
	l := make([][]link, n.Corners)
	for i := range l {
		l[i] = make([]link, n.Corners)
	}
	for _, d := range n.Distances {
		w, k := 1/(d.StdUnc*d.StdUnc), l[d.From][d.To]
		if k.unc > 0 {
			old := 1 / (k.unc * k.unc)
			k = link{(old*k.length + w*d.Length) / (old + w), 1 / math.Sqrt(old+w)}
		} else {
			k = link{d.Length, d.StdUnc}
		}
		l[d.From][d.To], l[d.To][d.From] = k, k
	}
	return l
}

// starts returns shapes to adjust from: corners set out one after another from two that stand, on either side of the line
// between them, the likeliest first. Where no such sequence reaches every corner, the corners stand on a circle in order.
func (n Net) starts() ([][]plane.Point, error) {
	l := n.links()
	if err := broken(l); err != nil {
		return nil, err
	}
	base, order := n.sequence(l)
	if len(order) < n.Corners {
		return [][]plane.Point{n.round(l)}, nil
	}
	first := make([]plane.Point, n.Corners)
	for i := range first {
		first[i] = plane.Point{X: math.NaN(), Y: math.NaN()}
	}
	first[base[0]], first[base[1]] = plane.Point{}, plane.Point{X: l[base[0]][base[1]].length}
	kept := []placing{{at: first}}
	for step, c := range order[2:] {
		var next []placing
		var worst *TriangleError
		for _, p := range kept {
			spots, err := spotsOf(l, p, c)
			if err != nil && (worst == nil || err.By < worst.By) {
				worst = err
			}
			for _, q := range spots {
				next = append(next, p.with(l, c, q))
			}
		}
		if len(next) == 0 {
			return nil, worst
		}
		slices.SortStableFunc(next, placing.compare)
		if step == 0 {
			next = next[:1] // the other is the mirror image of the whole: clockwise
		}
		kept = next[:min(len(next), mostKept)]
	}
	var out [][]plane.Point
	for _, p := range kept[:min(len(kept), mostStarts)] {
		out = append(out, p.at)
	}
	return out, nil
}

func (p placing) compare(q placing) int {
	return cmp.Or(cmp.Compare(p.cost, q.cost), cmp.Compare(p.crosses, q.crosses), cmp.Compare(p.reflex, q.reflex))
}

// with returns the placing with corner c at q.
func (p placing) with(l [][]link, c int, q plane.Point) placing {
	r := placing{at: slices.Clone(p.at), cost: p.cost}
	for k, o := range p.at {
		if u := l[c][k].unc; u > 0 && placed(o) {
			e := (q.Dist(o) - l[c][k].length) / u
			if e = math.Abs(e); e > 1e-6 { // those that it was placed by are met but for rounding
				r.cost += e * e
			}
		}
	}
	r.at[c] = q
	r.crosses = crossings(r.at)
	r.reflex = reflex(slices.DeleteFunc(slices.Clone(r.at), func(p plane.Point) bool { return !placed(p) }))
	return r
}

func placed(p plane.Point) bool { return !math.IsNaN(p.X) }

// broken returns the measured triangle that fails to close by most, if any does by more than its readings' uncertainty.
func broken(l [][]link) error {
	var worst *TriangleError
	for i := range l {
		for j := range l {
			for k := range i {
				if j == i || j == k || l[i][j].unc == 0 || l[j][k].unc == 0 || l[i][k].unc == 0 {
					continue
				}
				long := l[i][k]
				by := long.length - l[i][j].length - l[j][k].length
				if by > slack(long, l[i][j], l[j][k]) && (worst == nil || by > worst.By) {
					worst = &TriangleError{Corners: [3]int{k, i, j}, Long: long.length, By: by}
				}
			}
		}
	}
	if worst == nil {
		return nil
	}
	return worst
}

// slack is how much three readings may miss a flat triangle by.
func slack(a, b, c link) float64 {
	return Critical * math.Sqrt(a.unc*a.unc+b.unc*b.unc+c.unc*c.unc)
}

// sequence returns a measured distance to start from and the order in which corners can be placed, each from at least two
// that stand; of several starts the one that reaches most corners, then the longest.
func (n Net) sequence(l [][]link) (base [2]int, order []int) {
	longest := 0.0
	for i := range n.Corners {
		for j := i + 1; j < n.Corners; j++ {
			if l[i][j].unc == 0 {
				continue
			}
			o := n.reach(l, i, j)
			if len(o) > len(order) || len(o) == len(order) && l[i][j].length > longest {
				base, order, longest = [2]int{i, j}, o, l[i][j].length
			}
		}
	}
	return base, order
}

func (n Net) reach(l [][]link, i, j int) []int {
	order := []int{i, j}
	for {
		best, most := -1, 1
		for c := range n.Corners {
			if slices.Contains(order, c) {
				continue
			}
			count := 0
			for _, o := range order {
				if l[c][o].unc > 0 {
					count++
				}
			}
			if count > most {
				best, most = c, count
			}
		}
		if best < 0 {
			return order
		}
		order = append(order, best)
	}
}

// spotsOf returns the one or two places of corner c that two readings to placed corners give, from the two that cross most
// squarely.
func spotsOf(l [][]link, p placing, c int) ([]plane.Point, *TriangleError) {
	var best []plane.Point
	square := -1.0
	var worst *TriangleError
	for i := range p.at {
		for j := i + 1; j < len(p.at); j++ {
			if l[c][i].unc == 0 || l[c][j].unc == 0 || !placed(p.at[i]) || !placed(p.at[j]) {
				continue
			}
			spots, sine, err := meet(l, p, c, i, j)
			if err != nil && (worst == nil || err.By < worst.By) {
				worst = err
			}
			if err == nil && sine > square {
				best, square = spots, sine
			}
		}
	}
	return best, worst
}

// meet intersects two circles: the places of c by its distances to i and j, and the sine of the angle that they cross at.
func meet(l [][]link, p placing, c, i, j int) ([]plane.Point, float64, *TriangleError) {
	a, b := l[c][i].length, l[c][j].length
	base := p.at[j].Sub(p.at[i])
	d := base.Len()
	side := l[i][j]
	computed := side.unc == 0
	if computed { // its own uncertainty is that of several readings: twice the larger of the two others stands for it
		side.unc = 2 * max(l[c][i].unc, l[c][j].unc)
	}
	if d == 0 {
		return nil, 0, &TriangleError{Corners: [3]int{c, i, j}, Long: max(a, b), By: math.Abs(a - b), Computed: computed}
	}
	by, e := d-a-b, TriangleError{Corners: [3]int{i, j, c}, Long: d, By: d - a - b, Computed: computed}
	if v := a - d - b; v > by {
		by, e = v, TriangleError{Corners: [3]int{c, i, j}, Long: a, By: v}
	}
	if v := b - d - a; v > by {
		by, e = v, TriangleError{Corners: [3]int{c, j, i}, Long: b, By: v}
	}
	along := (d + (a-b)*(a+b)/d) / 2
	unit := base.Unit()
	if by >= 0 {
		if by > slack(side, l[c][i], l[c][j]) {
			return nil, 0, &e
		}
		// Flat within the uncertainty: a little to either side, so that the adjustment can leave the line.
		h := math.Sqrt(max(a*a-along*along, 0)) + 1e-3*d
		return []plane.Point{p.at[i].Add(unit.Scale(along)).Add(unit.Perp().Scale(h)), p.at[i].Add(unit.Scale(along)).Sub(unit.Perp().Scale(h))}, 0, nil
	}
	h := math.Sqrt(max(a*a-along*along, 0))
	foot, up := p.at[i].Add(unit.Scale(along)), unit.Perp().Scale(h)
	return []plane.Point{foot.Add(up), foot.Sub(up)}, h * d / (a * b), nil
}

// round sets the corners on a circle, anticlockwise, with edges about as long as measured. Their radii differ a little, since
// some nets are not rigid with their corners on a circle.
func (n Net) round(l [][]link) []plane.Point {
	sum, count := 0.0, 0
	for i := range n.Corners {
		if k := l[i][(i+1)%n.Corners]; k.unc > 0 {
			sum, count = sum+k.length, count+1
		}
	}
	for i := range l {
		for j := range l {
			if count == 0 && l[i][j].unc > 0 {
				sum, count = l[i][j].length, 1
			}
		}
	}
	mean := sum / float64(count)
	whole := sum + mean*float64(n.Corners-count)
	at, s := make([]plane.Point, n.Corners), 0.0
	for i := range at {
		_, f := math.Modf(float64(i) * math.Phi)
		at[i] = plane.Point{X: whole / (2 * math.Pi) * (1 + 0.1*f)}.Rotate(2 * math.Pi * s / whole)
		if k := l[i][(i+1)%n.Corners]; k.unc > 0 {
			s += k.length
		} else {
			s += mean
		}
	}
	return at
}
