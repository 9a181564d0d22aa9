package mesh

import (
	"fmt"
	"testing"

	"panelwright/internal/plane"
)

// BenchmarkBuild grows one panel from about 1,000 to 60,000 nodes.
func BenchmarkBuild(b *testing.B) {
	for _, edge := range []float64{75, 26, 14.5, 10, 5.2} {
		d := panel(1000, 600, edge)
		d.Size.Nodes = 100000
		m, err := Build(d)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprint(len(m.Nodes)), func(b *testing.B) {
			for b.Loop() {
				if _, err := Build(d); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(m.Nodes)), "ns/node")
		})
	}
}

func BenchmarkLocate(b *testing.B) {
	m, err := Build(panel(1000, 600, 14))
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		m.Locate(plane.Point{X: float64(i*61%1000) + 0.5, Y: float64(i*37%600) + 0.5})
	}
}
