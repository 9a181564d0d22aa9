package sparse

import (
	"cmp"
	"slices"
)

// knot is a front in the making, in ranks: groups numbered in the order of their elimination, then the kept parts of groups.
type knot struct {
	pivots   []int32 // ranks that it eliminates, ascending
	beyond   []int32 // ranks that are left, ascending
	children []int32
	s, m     int32 // unknowns of the pivots, and of both
	gone     bool  // merged into its parent
}

// treeMaker makes fronts of branches.
type treeMaker struct {
	shape  Shape
	d      *dissection
	groups []int32 // group of each rank
	weight []int32 // unknowns of each rank
	rank   []int32 // of the part of each group that is eliminated, or −1
	held   []int32 // of the part that is kept, or −1
	knots  []knot
	knotOf []int32 // that eliminates each rank
}

// assemblyTree finds what every branch touches, merges branches where that saves time, and numbers the unknowns: children before
// their parents, the kept ones last.
func (p *Plan) assemblyTree(s Shape, d *dissection, kept []bool) {
	t := &treeMaker{shape: s, d: d}
	t.ranks(kept)
	mark := make([]int32, len(t.groups))
	for i := range mark {
		mark[i] = -1
	}
	t.knots = make([]knot, 0, len(d.branches))
	children := make([][]int32, len(d.branches))
	for b := range d.branches {
		k := t.knot(b, children[b], mark)
		t.knots = append(t.knots, k)
		t.merge(int32(b))
		if r := t.knots[b].beyond; len(r) > 0 && int(r[0]) < len(t.knotOf) {
			q := t.knotOf[r[0]]
			children[q] = append(children[q], int32(b))
		}
	}
	t.sortChildren()
	p.number(s, t, kept)
}

// sortChildren puts first the child that needs most memory beyond what it leaves: then the least has to wait [liu86].
func (t *treeMaker) sortChildren() {
	peak, rest := make([]int64, len(t.knots)), make([]int64, len(t.knots))
	for b := range t.knots {
		k := &t.knots[b]
		if k.gone {
			continue
		}
		slices.SortStableFunc(k.children, func(x, y int32) int { return cmp.Compare(peak[y]-rest[y], peak[x]-rest[x]) })
		rest[b] = int64(k.m-k.s) * int64(k.m-k.s)
		waiting := int64(0)
		for _, c := range k.children {
			peak[b] = max(peak[b], waiting+peak[c])
			waiting += rest[c]
		}
		peak[b] = max(peak[b], waiting+rest[b])
	}
}

// ranks numbers the groups in the order of elimination.
func (t *treeMaker) ranks(kept []bool) {
	n := len(t.d.weight)
	t.rank, t.held = slices.Repeat([]int32{-1}, n), slices.Repeat([]int32{-1}, n)
	for b := range t.d.branches {
		for _, g := range t.d.branches[b].groups {
			t.rank[g] = int32(len(t.groups))
			t.groups = append(t.groups, g)
			t.weight = append(t.weight, t.d.weight[g])
			t.knotOf = append(t.knotOf, int32(b))
		}
	}
	for g := range n {
		if held := t.shape.Start[g+1] - t.shape.Start[g] - t.d.weight[g]; held > 0 {
			t.held[g] = int32(len(t.groups))
			t.groups = append(t.groups, int32(g))
			t.weight = append(t.weight, held)
		}
	}
}

// knot gathers what a branch and its children touch beyond it.
func (t *treeMaker) knot(b int, children []int32, mark []int32) knot {
	k := knot{children: children}
	end := int32(-1)
	for _, g := range t.d.branches[b].groups {
		end = t.rank[g]
		k.pivots = append(k.pivots, end)
		k.s += t.weight[end]
	}
	k.m = k.s
	add := func(r int32) {
		if r > end && mark[r] != int32(b) {
			mark[r] = int32(b)
			k.beyond = append(k.beyond, r)
			k.m += t.weight[r]
		}
	}
	for _, g := range t.d.branches[b].groups {
		add(t.held[g])
		for _, h := range t.d.adj[t.d.start[g]:t.d.start[g+1]] {
			add(t.rank[h])
			add(t.held[h])
		}
	}
	for _, c := range children {
		for _, r := range t.knots[c].beyond {
			add(r)
		}
	}
	slices.Sort(k.beyond)
	return k
}

// moveCost and frontCost are what it takes to move an entry between fronts, and to begin a front at all, in multiplications. Half
// or twice of either changes the time of a factor by less than can be measured.
const (
	moveCost  = 2.0
	frontCost = 1000.0
)

// cost is about how long a front takes, in multiplications: its arithmetic and the moves of its entries.
func cost(m, s int32) float64 {
	x, y := float64(m), float64(s)
	left := x - y
	return (y*x*x-y*y*x+y*y*y/3)/2 + moveCost*(x*x/2+y*x+left*left*2) + frontCost
}

// merge takes children into a front where one larger front is quicker than two.
func (t *treeMaker) merge(b int32) {
	k := &t.knots[b]
	for again := true; again; {
		again = false
		best, gain := -1, 0.0
		for i, c := range k.children {
			child := &t.knots[c]
			if g := cost(k.m, k.s) + cost(child.m, child.s) - cost(k.m+child.s, k.s+child.s); g > gain {
				best, gain = i, g
			}
		}
		if best < 0 {
			break
		}
		child := &t.knots[k.children[best]]
		k.pivots = append(k.pivots, child.pivots...)
		k.s, k.m = k.s+child.s, k.m+child.s
		child.gone = true
		k.children = append(slices.Delete(slices.Clone(k.children), best, best+1), child.children...)
		child.pivots, child.children = nil, nil
		again = true
	}
	slices.Sort(k.pivots)
}

// number gives each unknown its position and makes the fronts.
func (p *Plan) number(s Shape, t *treeMaker, kept []bool) {
	p.perm = make([]int32, p.n)
	p.order = make([]int32, 0, p.n)
	frontOf := make([]int32, len(t.knots))
	var walk func(b int32)
	walk = func(b int32) {
		k := &t.knots[b]
		f := front{parent: -1}
		for _, c := range k.children {
			walk(c)
			f.children = append(f.children, frontOf[c])
		}
		f.first = int32(len(p.order))
		for _, r := range k.pivots {
			g := t.groups[r]
			for u := s.Start[g]; u < s.Start[g+1]; u++ {
				if !kept[u] {
					p.order = append(p.order, u)
				}
			}
		}
		f.pivots = int32(len(p.order)) - f.first
		frontOf[b] = int32(len(p.fronts))
		for _, c := range f.children {
			p.fronts[c].parent = frontOf[b]
		}
		f.rows = make([]int32, 0, k.m)
		p.fronts = append(p.fronts, f)
	}
	for b := range t.knots {
		k := &t.knots[b]
		if !k.gone && (len(k.beyond) == 0 || int(k.beyond[0]) >= len(t.knotOf)) {
			walk(int32(b))
		}
	}
	p.order = append(p.order, s.Keep...)
	for i, u := range p.order {
		p.perm[u] = int32(i)
	}
	for b := range t.knots {
		if k := &t.knots[b]; !k.gone {
			p.fronts[frontOf[b]].rows = p.spread(p.fronts[frontOf[b]], k, t)
		}
	}
	for i := range p.fronts {
		f := &p.fronts[i]
		for _, c := range f.children {
			f.into = append(f.into, places(p.fronts[c].rows[p.fronts[c].pivots:], f.rows))
		}
	}
}

// spread lists a front's rows as positions.
func (p *Plan) spread(f front, k *knot, t *treeMaker) []int32 {
	rows := f.rows
	for i := f.first; i < f.first+f.pivots; i++ {
		rows = append(rows, i)
	}
	end := p.n - p.kept
	held := -1
	for _, r := range k.beyond {
		g := t.groups[r]
		isHeld := int(r) >= len(t.knotOf)
		if isHeld && held < 0 {
			held = len(rows)
		}
		for u := t.shape.Start[g]; u < t.shape.Start[g+1]; u++ {
			if pos := p.perm[u]; (int(pos) >= end) == isHeld {
				rows = append(rows, pos)
			}
		}
	}
	if held >= 0 {
		slices.Sort(rows[held:]) // they are in the caller's order
	}
	return rows
}
