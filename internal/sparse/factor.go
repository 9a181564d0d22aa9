package sparse

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// pivotTolerance is the share of its diagonal entry below which what is left of a pivot counts as nothing at once: some thousand
// roundings. Larger ones that are nothing but rounding are found afterwards, see doubtTimes.
const pivotTolerance = 1e-13

// Options say how to factor.
type Options struct {
	Workers    int  // 0: as many as the machine has; the result does not depend on it
	Indefinite bool // L·D·Lᵀ, for a matrix that is not positive definite
}

// Factor is a factored matrix. Its methods may be called from several goroutines at once.
type Factor struct {
	p          *Plan
	l          []float64 // columns of each front's pivots
	schur      []float64 // kept × kept, lower half
	diag       []float64 // of the matrix, by position
	indefinite bool
	once       sync.Once
	root       []float64
	rootErr    error
}

// run is one factorisation at work.
type run struct {
	f    *Factor
	a    *Matrix
	diag []float64 // by position
	upd  [][]float64
	mu   sync.Mutex
	free [][]float64
	fail map[int]*NotPositive
	idle atomic.Int32 // workers without a front
}

// Factor works out the factor of a. A pivot that is nothing beside its diagonal entry, or nothing but rounding, is
// *NotPositive (with Indefinite: one of either sign, or one so small that the factor grows beyond measure). The condensed matrix of the kept unknowns is not factored here, and may be singular.
func (p *Plan) Factor(a *Matrix, o Options) (*Factor, error) {
	if a.p != p {
		panic("sparse: a matrix of another plan")
	}
	f := &Factor{p: p, l: make([]float64, p.stats.FactorEntries), indefinite: o.Indefinite}
	w := &run{f: f, a: a, diag: make([]float64, p.n), upd: make([][]float64, len(p.fronts)), fail: map[int]*NotPositive{}}
	for c := range p.n {
		if k := p.colStart[c]; k < p.colStart[c+1] && int(p.rows[k]) == c {
			w.diag[c] = a.v[k]
		}
	}
	workers := o.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	w.all(workers)
	first := -1
	for b := range w.fail {
		if first < 0 || b < first {
			first = b
		}
	}
	if first >= 0 {
		return nil, w.fail[first]
	}
	f.condense(w)
	f.diag = w.diag
	if err := f.checkPivots(); err != nil {
		return nil, err
	}
	if o.Indefinite {
		if err := f.checkGrowth(a); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// all works through the fronts. Subtrees of a fair share of the work are tasks; what is above them follows in order.
func (w *run) all(workers int) {
	p := w.f.p
	total := 0.0
	for i := range p.fronts {
		if p.fronts[i].parent < 0 {
			total += p.fronts[i].work
		}
	}
	var tasks [][2]int // first and last front of a subtree: postorder keeps it together
	above := make([]bool, len(p.fronts))
	size := make([]int, len(p.fronts))
	for i := range p.fronts {
		size[i] = 1
		for _, c := range p.fronts[i].children {
			size[i] += size[c]
		}
	}
	for i := len(p.fronts) - 1; i >= 0; {
		if workers > 1 && p.fronts[i].work > total/float64(8*workers) && len(p.fronts[i].children) > 0 {
			above[i] = true
			i--
			continue
		}
		tasks = append(tasks, [2]int{i - size[i] + 1, i})
		i -= size[i]
	}
	if workers == 1 {
		s := newScratch(p)
		for i := range p.fronts {
			w.front(i, s)
		}
		return
	}
	w.parallel(tasks, above, workers)
}

// parallel runs subtrees as tasks, and each front above them as soon as its children are done.
func (w *run) parallel(tasks [][2]int, above []bool, workers int) {
	p := w.f.p
	wait := make([]int, len(p.fronts))
	for i := range p.fronts {
		wait[i] = len(p.fronts[i].children)
	}
	type job struct{ from, to int }
	queue := make(chan job, len(p.fronts)+1)
	var left sync.WaitGroup
	left.Add(len(p.fronts))
	// Deepest work first: the tasks come in reverse.
	for i := len(tasks) - 1; i >= 0; i-- {
		queue <- job{tasks[i][0], tasks[i][1]}
	}
	var mu sync.Mutex
	for range workers {
		go func() {
			s := newScratch(p)
			w.idle.Add(1)
			for j := range queue {
				w.idle.Add(-1)
				for i := j.from; i <= j.to; i++ {
					w.front(i, s)
				}
				if q := p.fronts[j.to].parent; q >= 0 && above[q] {
					mu.Lock()
					wait[q]--
					ready := wait[q] == 0
					mu.Unlock()
					if ready {
						queue <- job{int(q), int(q)}
					}
				}
				w.idle.Add(1)
				left.Add(j.from - j.to - 1)
			}
		}()
	}
	left.Wait()
	close(queue)
}

// scratch is what one worker needs.
type scratch struct {
	at    []int32 // where a position stands among the rows of the front at work
	least []float64
}

func newScratch(p *Plan) *scratch {
	return &scratch{at: make([]int32, p.n), least: make([]float64, p.stats.LargestFront)}
}

// front assembles one front and eliminates its pivots.
func (w *run) front(i int, s *scratch) {
	p := w.f.p
	f := &p.fronts[i]
	m, n := len(f.rows), int(f.pivots)
	a := w.f.l[f.at : f.at+int64(m*n)] // zeros so far
	rest := w.take((m - n) * (m - n))
	clear(rest)
	for k, r := range f.rows {
		s.at[r] = int32(k)
	}
	for j := range n {
		c := int(f.first) + j
		col := a[j*m : j*m+m]
		for k := p.colStart[c]; k < p.colStart[c+1]; k++ {
			col[s.at[p.rows[k]]] += w.a.v[k]
		}
		s.least[j] = pivotTolerance * math.Abs(w.diag[c])
	}
	for k, c := range f.children {
		u := w.upd[c]
		extend(a, m, n, rest, u, f.into[k])
		w.give(u)
		w.upd[c] = nil
	}
	if j := eliminate(a, m, n, rest, s.least, w.f.indefinite, &w.idle); j >= 0 {
		w.mu.Lock()
		w.fail[i] = &NotPositive{Unknown: int(p.order[int(f.first)+j]), Pivot: a[j*m+j], Of: w.diag[int(f.first)+j]}
		w.mu.Unlock()
		for j := range n { // the rest goes on with something harmless; the result is thrown away
			a[j*m+j] = 1
		}
	}
	w.upd[i] = rest
}

// extend adds what a child left to a front: its columns to the pivots' in a or to the rest.
func extend(a []float64, m, n int, rest, u []float64, into []int32) {
	size, left := len(into), m-n
	j := 0
	for ; j < size && int(into[j]) < n; j++ {
		col := a[int(into[j])*m : int(into[j])*m+m]
		rows := into[j:]
		for i, v := range u[j*size+j : j*size+size] {
			col[rows[i]] += v
		}
	}
	for ; j < size; j++ {
		at := int(into[j]) - n
		col := rest[at*left : at*left+left]
		rows := into[j:]
		for i, v := range u[j*size+j : j*size+size] {
			col[int(rows[i])-n] += v
		}
	}
}

func (w *run) take(n int) []float64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i := len(w.free) - 1; i >= 0; i-- {
		if b := w.free[i]; cap(b) >= n && cap(b) <= 2*n+1024 {
			w.free = append(w.free[:i], w.free[i+1:]...)
			return b[:n]
		}
	}
	return make([]float64, n)
}

func (w *run) give(b []float64) {
	w.mu.Lock()
	if len(w.free) < 64 {
		w.free = append(w.free, b)
	}
	w.mu.Unlock()
}

// condense gathers what the fronts without a parent leave on the kept unknowns.
func (f *Factor) condense(w *run) {
	p := f.p
	k := p.kept
	f.schur = make([]float64, k*k)
	base := p.n - k
	for c := base; c < p.n; c++ {
		for q := p.colStart[c]; q < p.colStart[c+1]; q++ {
			f.schur[(c-base)*k+int(p.rows[q])-base] += w.a.v[q]
		}
	}
	for i := range p.fronts {
		g := &p.fronts[i]
		if g.parent >= 0 {
			continue
		}
		rows := g.rows[g.pivots:]
		n := len(rows)
		u := w.upd[i]
		for j := range n {
			c := (int(rows[j]) - base) * k
			for i := j; i < n; i++ {
				f.schur[c+int(rows[i])-base] += u[j*n+i]
			}
		}
	}
}

// Schur returns the condensed matrix of the kept unknowns in the order of Shape.Keep, dense and whole; the caller owns it.
func (f *Factor) Schur() []float64 {
	k := f.p.kept
	out := append([]float64(nil), f.schur...)
	for j := range k {
		for i := range j {
			out[j*k+i] = out[i*k+j]
		}
	}
	return out
}

// Inertia returns how many eigenvalues of the whole matrix are positive and negative, by Sylvester's law from the signs of D.
// *NotPositive when the condensed matrix of the kept unknowns has a pivot that is nothing: then move the shift a little.
func (f *Factor) Inertia() (positive, negative int, err error) {
	count := func(d float64) {
		if d > 0 {
			positive++
		} else {
			negative++
		}
	}
	for i := range f.p.fronts {
		g := &f.p.fronts[i]
		m := len(g.rows)
		for j := range int(g.pivots) {
			count(f.l[g.at+int64(j*m+j)])
		}
	}
	root, err := f.rootFactor()
	if err != nil {
		return 0, 0, err
	}
	for j := range f.p.kept {
		count(root[j*f.p.kept+j])
	}
	return positive, negative, nil
}

// rootFactor factors the condensed matrix on first use.
func (f *Factor) rootFactor() ([]float64, error) {
	f.once.Do(func() {
		f.root = append([]float64(nil), f.schur...)
		k := f.p.kept
		least := make([]float64, k)
		for i := range least {
			least[i] = pivotTolerance * math.Abs(f.root[i*k+i])
		}
		if j := eliminate(f.root, k, k, nil, least, f.indefinite, nil); j >= 0 {
			f.rootErr = &NotPositive{Unknown: int(f.p.order[f.p.n-k+j]), Pivot: f.root[j*k+j], Of: f.schur[j*k+j]}
		} else if f.indefinite {
			f.rootErr = f.checkRootGrowth()
		}
		if f.rootErr == nil {
			f.rootErr = f.checkRootPivots(f.root)
		}
	})
	return f.root, f.rootErr
}
