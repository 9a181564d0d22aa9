package sparse

import "slices"

// Plan is the symbolic factorisation: the order of elimination and every front's rows, worked out once per mesh.
type Plan struct {
	n, kept int
	perm    []int32 // position in the elimination of each unknown
	order   []int32 // unknown at each position
	fronts  []front
	// Entries: lower triangle by columns of positions.
	colStart []int32
	rows     []int32
	elemAt   []int32 // start of each element's list in slots
	slots    []int32 // for each element's lower triangle, row after row: the entry
	elemSize []int32
	stats    Stats
}

// front is one dense step: it eliminates the positions first … first+pivots−1.
type front struct {
	first, pivots int32
	rows          []int32 // positions: pivots first, then what they touch, ascending
	children      []int32
	into          [][]int32 // for each child: where its rows beyond the pivots stand among these rows
	parent        int32
	at            int64 // of its columns in the factor
	depth         int
	work          float64
}

// Stats say how big the factor is and what it costs.
type Stats struct {
	FactorEntries int64   // zeros of the fronts counted
	Flops         float64 // of one factor
	Bytes         int64   // that the plan, one matrix and one factor keep
	Working       int64   // bytes needed besides while factoring on one worker; more workers hold more fronts at once
	Fronts        int
	LargestFront  int // rows
}

// Analyse works out the order of elimination and the structure of the factor.
func Analyse(s Shape) (*Plan, error) {
	groups := len(s.Start) - 1
	if groups < 0 || len(s.X) != groups || len(s.Y) != groups {
		panic("sparse: a place for each group is wanted")
	}
	p := &Plan{n: int(s.Start[groups]), kept: len(s.Keep)}
	kept := make([]bool, p.n)
	for _, u := range s.Keep {
		if kept[u] {
			panic("sparse: an unknown is kept twice")
		}
		kept[u] = true
	}
	d := newDissection(s, kept)
	var with []int32
	for g := range groups {
		if d.weight[g] > 0 {
			with = append(with, int32(g))
		}
	}
	if len(with) > 0 {
		d.sortAll(s.X, s.Y, with)
		d.run(0, len(with), 0)
	}
	p.assemblyTree(s, d, kept)
	p.entries(s, d)
	p.count()
	return p, nil
}

func newDissection(s Shape, kept []bool) *dissection {
	groups := len(s.Start) - 1
	d := &dissection{weight: make([]int32, groups), label: make([]int8, groups), at: make([]int32, groups)}
	for g := range groups {
		d.at[g] = -1
		for u := s.Start[g]; u < s.Start[g+1]; u++ {
			if !kept[u] {
				d.weight[g]++
			}
		}
	}
	d.start, d.adj = neighbours(groups, s.Elements)
	d.local = make([]int32, groups)
	return d
}

// neighbours lists for each group the others that it shares an element with, ascending.
func neighbours(groups int, elements [][]int32) (start, adj []int32) {
	count := make([]int32, groups+1)
	for _, e := range elements {
		for _, g := range e {
			count[g+1] += int32(len(e) - 1)
		}
	}
	for g := range groups {
		count[g+1] += count[g]
	}
	raw := make([]int32, count[groups])
	fill := slices.Clone(count[:groups])
	for _, e := range elements {
		for _, g := range e {
			for _, h := range e {
				if h != g {
					raw[fill[g]] = h
					fill[g]++
				}
			}
		}
	}
	start = make([]int32, groups+1)
	adj = raw[:0]
	for g := range groups {
		list := raw[count[g]:fill[g]]
		slices.Sort(list)
		for i, h := range list {
			if i == 0 || h != list[i-1] {
				adj = append(adj, h)
			}
		}
		start[g+1] = int32(len(adj))
	}
	return start, adj
}

// places finds each of a in b; both ascend.
func places(a, b []int32) []int32 {
	out := make([]int32, len(a))
	j := 0
	for i, v := range a {
		for b[j] != v {
			j++
		}
		out[i] = int32(j)
	}
	return out
}

// entries lays out the lower triangle and finds the place of every element's entries in it.
func (p *Plan) entries(s Shape, d *dissection) {
	groups := len(s.Start) - 1
	// The positions that each group's columns meet, ascending: a column has those from its own on.
	meets := make([]int32, groups+1)
	for g := range groups {
		meets[g+1] = meets[g] + s.Start[g+1] - s.Start[g]
		for _, h := range d.adj[d.start[g]:d.start[g+1]] {
			meets[g+1] += s.Start[h+1] - s.Start[h]
		}
	}
	positions := make([]int32, meets[groups])
	p.colStart = make([]int32, p.n+1)
	for g := range groups {
		list := positions[meets[g]:meets[g]]
		list = append(list, p.perm[s.Start[g]:s.Start[g+1]]...)
		for _, h := range d.adj[d.start[g]:d.start[g+1]] {
			list = append(list, p.perm[s.Start[h]:s.Start[h+1]]...)
		}
		slices.Sort(list)
		for _, c := range p.perm[s.Start[g]:s.Start[g+1]] {
			from, _ := slices.BinarySearch(list, c)
			p.colStart[c+1] = int32(len(list) - from)
		}
	}
	for c := range p.n {
		p.colStart[c+1] += p.colStart[c]
	}
	p.rows = make([]int32, p.colStart[p.n])
	for g := range groups {
		list := positions[meets[g]:meets[g+1]]
		for _, c := range p.perm[s.Start[g]:s.Start[g+1]] {
			into := p.rows[p.colStart[c]:p.colStart[c+1]]
			copy(into, list[len(list)-len(into):])
		}
	}
	p.elementSlots(s)
}

// elementSlots finds the entries of every element's lower triangle.
func (p *Plan) elementSlots(s Shape) {
	p.elemAt = make([]int32, len(s.Elements)+1)
	p.elemSize = make([]int32, len(s.Elements))
	for e, groups := range s.Elements {
		n := int32(0)
		for _, g := range groups {
			n += s.Start[g+1] - s.Start[g]
		}
		p.elemSize[e] = n
		p.elemAt[e+1] = p.elemAt[e] + n*(n+1)/2
	}
	p.slots = make([]int32, p.elemAt[len(s.Elements)])
	type ranked struct{ pos, i int32 } // a position, and which of the element's unknowns it is
	var list []ranked
	for e, groups := range s.Elements {
		list = list[:0]
		for _, g := range groups {
			for _, pos := range p.perm[s.Start[g]:s.Start[g+1]] {
				// By insertion: few, and a group's are in order mostly.
				r := ranked{pos, int32(len(list))}
				k := len(list)
				list = append(list, r)
				for ; k > 0 && list[k-1].pos > pos; k-- {
					list[k] = list[k-1]
				}
				list[k] = r
			}
		}
		slots := p.slots[p.elemAt[e]:p.elemAt[e+1]]
		for k, c := range list {
			at := p.colStart[c.pos]
			for _, r := range list[k:] {
				for p.rows[at] != r.pos {
					at++
				}
				i, j := max(c.i, r.i), min(c.i, r.i)
				slots[i*(i+1)/2+j] = at
			}
		}
	}
}

// slot is the place of the entry at two positions, or −1.
func (p *Plan) slot(a, b int32) int32 {
	c, r := min(a, b), max(a, b)
	i, ok := slices.BinarySearch(p.rows[p.colStart[c]:p.colStart[c+1]], r)
	if !ok {
		return -1
	}
	return p.colStart[c] + int32(i)
}

// count works out sizes and depths.
func (p *Plan) count() {
	for i := range p.fronts {
		f := &p.fronts[i]
		m, s := float64(len(f.rows)), float64(f.pivots)
		f.at = p.stats.FactorEntries
		p.stats.FactorEntries += int64(len(f.rows)) * int64(f.pivots)
		f.work = s*m*m - s*s*m + s*s*s/3
		p.stats.Flops += f.work
		for _, c := range f.children {
			f.work += p.fronts[c].work
		}
		p.stats.LargestFront = max(p.stats.LargestFront, len(f.rows))
	}
	p.stats.Fronts = len(p.fronts)
	lists := int64(len(p.perm)+len(p.order)+len(p.colStart)+len(p.slots)+len(p.elemAt)+len(p.elemSize)) + int64(len(p.rows))
	for i := range p.fronts {
		lists += int64(2*len(p.fronts[i].rows)) - int64(p.fronts[i].pivots) // rows, and where they stand in the parent's
	}
	// The condensed matrix is kept twice: as it is, and as its factor.
	p.stats.Bytes = 8*(p.stats.FactorEntries+2*int64(p.kept)*int64(p.kept)+int64(len(p.rows)+p.n)) + 4*lists
	p.stats.Working = p.waiting()
}

// waiting is the most memory that what fronts leave for their parents takes at any time, in bytes.
func (p *Plan) waiting() int64 {
	var now, most int64
	rest := func(f *front) int64 { left := int64(len(f.rows)) - int64(f.pivots); return 8 * left * left }
	for i := range p.fronts {
		f := &p.fronts[i]
		now += rest(f)
		most = max(most, now)
		for _, c := range f.children {
			now -= rest(&p.fronts[c])
		}
	}
	return most
}

// Unknowns is how many unknowns there are.
func (p *Plan) Unknowns() int { return p.n }

// Kept is how many of them are kept to the last.
func (p *Plan) Kept() int { return p.kept }

// Stats say how big the factor will be.
func (p *Plan) Stats() Stats { return p.stats }
