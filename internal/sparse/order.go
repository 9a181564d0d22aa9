package sparse

import (
	"cmp"
	"slices"
)

// branch is groups that are eliminated together. A branch touches only what follows it and what went before.
type branch struct {
	groups []int32
}

// dissection orders groups so that the factor stays small: the set is cut in two by a thin separator, again and again
// [george73]. Cuts are by place, in the best of several directions, and then bent to the fewest groups. A set is one range of each
// list, so that it need never be sorted again: parts keep the order.
type dissection struct {
	start    []int32 // adjacency
	adj      []int32
	weight   []int32                     // unknowns of each group
	lists    [len(cutDirections)][]int32 // groups along each direction
	at       []int32                     // place in the list at work, counted within the set; −1: in no set any more
	label    []int8                      // part that a group goes to
	spare    []int32
	edge     [2][]int64 // by where the list is cut: weight that touches the far side from before the cut, and from behind it
	band     cutBand
	leaf     leaf
	leafAll  []int32
	local    []int32 // number in the leaf at work, from 1
	branches []branch
}

// leafGroups is the size below which a set is not cut any more but ordered by least degree. Between 30 and 200 it hardly matters.
const leafGroups = 60

// cutDirections are the directions in which a cut is tried.
var cutDirections = [...][2]float64{{1, 0}, {0, 1}, {0.7071067811865476, 0.7071067811865476}, {0.7071067811865476, -0.7071067811865476}}

// cutWindow is how far from the middle, in hundredths of the set, a straight cut may lie; unevenShare is how little it costs to lie
// there beside a longer separator; bendWindow is how far from the straight cut the separator may then bend. On the panel of
// 44,829 unknowns straight cuts alone take 705 million operations, a band of 5 537, of 10 486, of 15 471, of 20 430, but the
// search takes ever longer and the parts grow ever less alike, which leaves workers idle.
const (
	cutWindow   = 15
	unevenShare = 50
	bendWindow  = 15
)

// sortAll puts the groups to be dissected in order along every direction.
func (d *dissection) sortAll(x, y []float64, groups []int32) {
	type placed struct {
		key float64
		g   int32
	}
	all := make([]placed, len(groups))
	for k, dir := range cutDirections {
		for i, g := range groups {
			all[i] = placed{x[g]*dir[0] + y[g]*dir[1], g}
		}
		slices.SortFunc(all, func(p, q placed) int {
			switch {
			case p.key < q.key:
				return -1
			case p.key > q.key:
				return 1
			}
			return cmp.Compare(p.g, q.g)
		})
		d.lists[k] = make([]int32, len(groups))
		for i, p := range all {
			d.lists[k][i] = p.g
		}
	}
	d.spare = make([]int32, len(groups))
	d.edge[0], d.edge[1] = make([]int64, len(groups)+2), make([]int64, len(groups)+2)
}

// run dissects the range from lo to hi of the lists; a set that is not cut keeps the order of direction k.
func (d *dissection) run(lo, hi, k int) {
	if hi-lo > leafGroups {
		if by, half, from := d.best(lo, hi); half > 0 {
			if a, b := d.part(lo, hi, by, half, from); a > 0 && b > 0 {
				d.run(lo, lo+a, by)
				d.run(lo+a, lo+a+b, by)
				if lo+a+b < hi {
					d.branches = append(d.branches, branch{groups: d.lists[by][lo+a+b : hi]})
				}
				return
			}
		}
		d.branches = append(d.branches, branch{groups: d.lists[k][lo:hi]})
		return
	}
	d.leafOrder(d.lists[k][lo:hi])
}

// best finds the direction and the place of the cheapest cut: half groups lie before it, and the separator is taken from that
// side (0 before, 1 behind) that needs the smaller one. half is 0 when there is none.
func (d *dissection) best(lo, hi int) (by, half int, from int8) {
	n := hi - lo
	first, last := max(1, n*(50-cutWindow)/100), min(n-1, n*(50+cutWindow)/100)
	least, leastUneven := int64(-1), int64(0)
	for k := range d.lists {
		list := d.lists[k][lo:hi]
		total := d.sweep(list)
		var reach [2]int64
		before := int64(0)
		for h := 1; h <= last; h++ {
			reach[0] += d.edge[0][h]
			reach[1] += d.edge[1][h]
			before += int64(d.weight[list[h-1]])
			if h < first {
				continue
			}
			side := int8(0)
			uneven := 2*before - total - reach[0]
			if reach[1] < reach[0] {
				side = 1
				uneven = 2*before - total + reach[1]
			}
			sep := reach[side]
			if uneven < 0 {
				uneven = -uneven
			}
			cost := sep*sep*sep + sep*uneven*uneven/unevenShare
			if least < 0 || cost < least || cost == least && uneven < leastUneven {
				least, leastUneven = cost, uneven
				by, half, from = k, h, side
			}
		}
	}
	return by, half, from
}

// sweep fills in edge for a set: what to add from one cut to the next. It returns the weight of the set.
func (d *dissection) sweep(list []int32) (total int64) {
	for i, g := range list {
		d.at[g] = int32(i)
	}
	clear(d.edge[0][:len(list)+2])
	clear(d.edge[1][:len(list)+2])
	for i, g := range list {
		low, high := d.reach(g, int32(i))
		w := int64(d.weight[g])
		total += w
		d.edge[0][i+1] += w
		d.edge[0][high+1] -= w
		d.edge[1][low+1] += w
		d.edge[1][i+1] -= w
	}
	return total
}

// reach returns the first and last place among a group at place i and those that it touches.
func (d *dissection) reach(g, i int32) (low, high int32) {
	low, high = i, i
	for _, h := range d.adj[d.start[g]:d.start[g+1]] {
		if j := d.at[h]; j >= 0 {
			low, high = min(low, j), max(high, j)
		}
	}
	return low, high
}

// part bends the cut and puts the groups before it first in every list, then those behind it, then the separator; each in the
// order it had. It returns how many there are of the first two.
func (d *dissection) part(lo, hi, by, half int, from int8) (a, b int) {
	list := d.lists[by][lo:hi]
	for i, g := range list {
		d.at[g] = int32(i)
	}
	d.divide(list, half, from)
	for _, g := range list {
		switch d.label[g] {
		case 0:
			a++
		case 1:
			b++
		}
	}
	if a == 0 || b == 0 {
		return a, b
	}
	for k := range d.lists {
		list := d.lists[k][lo:hi]
		to := [3]int{0, a, a + b}
		for _, g := range list {
			l := d.label[g]
			d.spare[to[l]] = g
			to[l]++
		}
		copy(list, d.spare)
	}
	for _, g := range list[a+b:] {
		d.at[g] = -1
	}
	return a, b
}

// divide labels every group of the set: 0 before the separator, 1 behind it, 2 in it.
func (d *dissection) divide(list []int32, half int, from int8) {
	n := len(list)
	first, last := max(1, half-n*bendWindow/100), min(n-1, half+n*bendWindow/100)
	cut := int32(half)
	if d.narrow(list, first, last, from == 0) {
		for _, g := range list[:first] {
			d.label[g] = 0
		}
		for _, g := range list[last:] {
			d.label[g] = 1
		}
	} else {
		for i, g := range list {
			low, high := d.reach(g, int32(i))
			switch {
			case i < half && from == 0 && high >= cut, i >= half && from == 1 && low < cut:
				d.label[g] = 2
			case i < half:
				d.label[g] = 0
			default:
				d.label[g] = 1
			}
		}
	}
}
