package sparse

// Matrix holds the values of a symmetric matrix that a plan describes.
type Matrix struct {
	p *Plan
	v []float64
}

// NewMatrix returns a matrix of zeros.
func (p *Plan) NewMatrix() *Matrix { return &Matrix{p, make([]float64, len(p.rows))} }

// AddElement adds a dense symmetric matrix (row after row) over the unknowns of element e: those of its groups, in their order.
// Only its lower half is read.
func (m *Matrix) AddElement(e int, ke []float64) {
	n := int(m.p.elemSize[e])
	if len(ke) != n*n {
		panic("sparse: an element matrix of another size")
	}
	slots := m.p.slots[m.p.elemAt[e]:m.p.elemAt[e+1]]
	k := 0
	for i := range n {
		for j := range i + 1 {
			m.v[slots[k]] += ke[i*n+j]
			k++
		}
	}
}

// Add adds v to the entry (i, j) and its mirror. Unknowns that share no element panic.
func (m *Matrix) Add(i, j int, v float64) {
	s := m.p.slot(m.p.perm[i], m.p.perm[j])
	if s < 0 {
		panic("sparse: an entry that the shape does not have")
	}
	m.v[s] += v
}

// AddScaled adds f·b; both of the same plan.
func (m *Matrix) AddScaled(f float64, b *Matrix) {
	if m.p != b.p {
		panic("sparse: matrices of two plans")
	}
	for i, v := range b.v {
		m.v[i] += f * v
	}
}

// Clone returns a copy.
func (m *Matrix) Clone() *Matrix { return &Matrix{m.p, append([]float64(nil), m.v...)} }

// MulAdd adds A·x to dst.
func (m *Matrix) MulAdd(dst, x []float64) {
	p := m.p
	for c := range p.n {
		uc := p.order[c]
		xc, sum := x[uc], 0.0
		for k := p.colStart[c]; k < p.colStart[c+1]; k++ {
			r := p.rows[k]
			ur := p.order[r]
			if int(r) != c {
				dst[ur] += m.v[k] * xc
			}
			sum += m.v[k] * x[ur]
		}
		dst[uc] += sum
	}
}

// Diagonal returns the entries on the diagonal, in the caller's numbering.
func (m *Matrix) Diagonal() []float64 {
	d := make([]float64, m.p.n)
	for c := range m.p.n {
		if k := m.p.slot(int32(c), int32(c)); k >= 0 {
			d[m.p.order[c]] = m.v[k]
		}
	}
	return d
}
