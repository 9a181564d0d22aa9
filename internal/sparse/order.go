package sparse

import "slices"

// branch is a node of the dissection: groups that are eliminated together after everything in its children, which do not touch
// each other.
type branch struct {
	groups   []int32
	children []int // indices, lower than its own
}

// dissection orders groups so that the factor stays small: the set is cut in two by a thin separator, again and again
// [george73]. Cuts are by place, in the best of several directions.
type dissection struct {
	x, y     []float64
	start    []int32 // adjacency
	adj      []int32
	weight   []int32 // unknowns of each group
	side     []int8
	mark     []int32
	stamp    int32
	branches []branch
	key      []float64
}

const leafGroups = 10 // a front of about thirty unknowns: smaller ones cost more in bookkeeping than they save in work

// cutDirections are the directions in which a cut is tried.
var cutDirections = [][2]float64{{1, 0}, {0, 1}, {0.7071067811865476, 0.7071067811865476}, {0.7071067811865476, -0.7071067811865476}}

func (d *dissection) run(groups []int32) int {
	if len(groups) <= leafGroups {
		d.branches = append(d.branches, branch{groups: groups})
		return len(d.branches) - 1
	}
	a, b, sep := d.cut(groups)
	if len(a) == 0 || len(b) == 0 {
		d.branches = append(d.branches, branch{groups: groups})
		return len(d.branches) - 1
	}
	i := d.run(a)
	j := d.run(b)
	d.branches = append(d.branches, branch{groups: sep, children: []int{i, j}})
	return len(d.branches) - 1
}

// cut divides groups into two parts and the separator between them.
func (d *dissection) cut(groups []int32) (a, b, sep []int32) {
	best := int64(1) << 62
	for _, dir := range cutDirections {
		for _, g := range groups {
			d.key[g] = d.x[g]*dir[0] + d.y[g]*dir[1]
		}
		sorted := slices.Clone(groups)
		slices.SortFunc(sorted, func(p, q int32) int {
			switch {
			case d.key[p] < d.key[q]:
				return -1
			case d.key[p] > d.key[q]:
				return 1
			}
			return int(p - q)
		})
		for _, share := range []int{50, 44, 56} {
			pa, pb, ps, cost := d.split(sorted, len(sorted)*share/100)
			if cost < best {
				best, a, b, sep = cost, pa, pb, ps
			}
			if len(groups) < 200 {
				break
			}
		}
	}
	return a, b, sep
}

// split takes the first half groups as one side and finds the smaller of the two vertex separators beside the cut.
func (d *dissection) split(sorted []int32, half int) (a, b, sep []int32, cost int64) {
	d.stamp++
	for i, g := range sorted {
		d.mark[g] = d.stamp
		d.side[g] = 0
		if i >= half {
			d.side[g] = 1
		}
	}
	var n [2]int64
	touches := func(g int32) bool {
		for _, h := range d.adj[d.start[g]:d.start[g+1]] {
			if d.mark[h] == d.stamp && d.side[h] == 1-d.side[g] {
				return true
			}
		}
		return false
	}
	for _, g := range sorted {
		if touches(g) {
			n[d.side[g]] += int64(d.weight[g])
		}
	}
	from := int8(0)
	if n[1] < n[0] {
		from = 1
	}
	var wa, wb int64
	for _, g := range sorted {
		switch {
		case d.side[g] == from && touches(g):
			sep = append(sep, g)
		case d.side[g] == 0:
			a, wa = append(a, g), wa+int64(d.weight[g])
		default:
			b, wb = append(b, g), wb+int64(d.weight[g])
		}
	}
	// Back into a part: what touches only one of them after all.
	ws := n[from]
	imbalance := wa - wb
	if imbalance < 0 {
		imbalance = -imbalance
	}
	return a, b, sep, ws*ws*ws + ws*imbalance*imbalance/8
}
