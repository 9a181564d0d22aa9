package sparse

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// Sides of the benchmarks' grids, three unknowns a node as a plate has: 5,000 to 200,000 unknowns.
var benchSides = []int{41, 82, 129, 183, 258}

func BenchmarkAnalyse(b *testing.B) {
	for _, n := range benchSides {
		s := lattice(n, n, 3)
		b.Run(fmt.Sprint(3*n*n), func(b *testing.B) {
			b.ReportAllocs()
			var p *Plan
			for b.Loop() {
				p, _ = Analyse(s)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(p.n), "ns/unknown")
			b.ReportMetric(float64(p.stats.FactorEntries)/float64(p.n), "entries/unknown")
			b.ReportMetric(p.stats.Flops/float64(p.n), "flops/unknown")
			b.ReportMetric(float64(p.stats.Bytes+p.stats.Working)/float64(p.n), "kept-B/unknown")
		})
	}
}

func benchFactor(b *testing.B, indefinite bool) {
	for _, n := range benchSides {
		s := lattice(n, n, 3)
		p := analyse(b, s)
		m, _ := fill2(rand.New(rand.NewPCG(1, 1)), s, p)
		b.Run(fmt.Sprint(3*n*n), func(b *testing.B) {
			for b.Loop() {
				if _, err := p.Factor(m, Options{Workers: 1, Indefinite: indefinite}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(p.stats.Flops*float64(b.N)/b.Elapsed().Seconds()/1e9, "Gflop/s")
		})
	}
}

func BenchmarkFactor(b *testing.B)           { benchFactor(b, false) }
func BenchmarkFactorIndefinite(b *testing.B) { benchFactor(b, true) }

func BenchmarkSolve(b *testing.B) {
	for _, n := range benchSides {
		s := lattice(n, n, 3)
		p := analyse(b, s)
		m, _ := fill2(rand.New(rand.NewPCG(1, 1)), s, p)
		f, err := p.Factor(m, Options{})
		if err != nil {
			b.Fatal(err)
		}
		for _, cols := range []int{1, 4} {
			x := random(rand.New(rand.NewPCG(2, 2)), cols*p.n)
			b.Run(fmt.Sprintf("%d/columns=%d", p.n, cols), func(b *testing.B) {
				for b.Loop() {
					if err := f.SolveMany(x, cols); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(p.stats.FactorEntries)/float64(cols), "ns/entry")
			})
		}
	}
}

func BenchmarkCholesky(b *testing.B) {
	for _, n := range []int{50, 200, 600} {
		rng := rand.New(rand.NewPCG(3, 3))
		a := make([]float64, n*n)
		for j := range n {
			for i := j; i < n; i++ {
				a[j*n+i] = rng.Float64()
			}
			a[j*n+j] += float64(n)
		}
		l := make([]float64, n*n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				copy(l, a)
				if err := Cholesky(l, n); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n)*float64(n)*float64(n)/3*float64(b.N)/b.Elapsed().Seconds()/1e9, "Gflop/s")
		})
	}
}
