package sparse

import "math/bits"

// leafOrder puts a small set in the order of least degree [tinney67]: always the group next whose elimination leaves the smallest
// clique, groups of later separators counted. Each becomes a branch of its own; what belongs together is merged afterwards.
func (d *dissection) leafOrder(groups []int32) {
	l := d.newLeaf(groups)
	left := append([]uint64(nil), l.inside...)
	for range groups {
		v := l.least(left)
		row := l.row(v)
		row[v/64] &^= 1 << (v % 64)
		left[v/64] &^= 1 << (v % 64)
		for w := range l.words {
			for s := row[w] & l.inside[w]; s != 0; s &= s - 1 {
				u := w*64 + bits.TrailingZeros64(s)
				other := l.row(u)
				for k, x := range row {
					other[k] |= x
				}
				other[v/64] &^= 1 << (v % 64)
				l.weigh(u)
			}
		}
		d.branches = append(d.branches, branch{groups: groups[v : v+1 : v+1]})
	}
}

// leaf is the graph of a small set and of what it touches outside, as rows of bits: the set's groups first.
type leaf struct {
	words  int
	bits   []uint64
	inside []uint64
	weight []int32
	degree []int32
}

func (l *leaf) row(i int) []uint64 { return l.bits[i*l.words : (i+1)*l.words] }

// newLeaf numbers the groups of the set and those outside that they touch.
func (d *dissection) newLeaf(groups []int32) *leaf {
	l := &d.leaf
	all := append(d.leafAll[:0], groups...)
	for i, g := range groups {
		d.local[g] = int32(i) + 1
	}
	for _, g := range groups {
		for _, h := range d.adj[d.start[g]:d.start[g+1]] {
			if d.local[h] == 0 && d.weight[h] > 0 {
				all = append(all, h)
				d.local[h] = int32(len(all))
			}
		}
	}
	d.leafAll = all
	l.words = (len(all) + 63) / 64
	l.bits = grown(l.bits, len(groups)*l.words)
	clear(l.bits)
	l.inside = grown(l.inside, l.words)
	clear(l.inside)
	l.weight, l.degree = grown(l.weight, l.words*64), grown(l.degree, len(groups))
	clear(l.weight)
	for i, g := range all {
		l.weight[i] = d.weight[g]
	}
	for i, g := range groups {
		l.inside[i/64] |= 1 << (i % 64)
		row := l.row(i)
		for _, h := range d.adj[d.start[g]:d.start[g+1]] {
			if k := d.local[h] - 1; k >= 0 {
				row[k/64] |= 1 << (k % 64)
			}
		}
		l.weigh(i)
	}
	for _, g := range all {
		d.local[g] = 0
	}
	return l
}

// weigh counts the unknowns that a group touches.
func (l *leaf) weigh(i int) {
	sum := int32(0)
	for w, s := range l.row(i) {
		for ; s != 0; s &= s - 1 {
			sum += l.weight[w*64+bits.TrailingZeros64(s)]
		}
	}
	l.degree[i] = sum
}

// least is the first of the groups left that touches the fewest unknowns.
func (l *leaf) least(left []uint64) int {
	best := -1
	for w, s := range left {
		for ; s != 0; s &= s - 1 {
			if i := w*64 + bits.TrailingZeros64(s); best < 0 || l.degree[i] < l.degree[best] {
				best = i
			}
		}
	}
	return best
}
