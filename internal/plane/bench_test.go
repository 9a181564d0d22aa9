package plane

import (
	"math/rand/v2"
	"testing"
)

func benchPath() Path { return blob(rand.New(rand.NewPCG(14, 14)), 40) }

func BenchmarkArea(b *testing.B) {
	p := benchPath()
	b.ReportAllocs()
	for b.Loop() {
		p.Area()
	}
}

func BenchmarkNearest(b *testing.B) {
	p := benchPath()
	b.ReportAllocs()
	for b.Loop() {
		p.Nearest(Point{40, 30})
	}
}

func BenchmarkContains(b *testing.B) {
	p := benchPath()
	b.ReportAllocs()
	for b.Loop() {
		p.Contains(Point{40, 30})
	}
}

func BenchmarkSelfCrossings(b *testing.B) {
	p := benchPath()
	b.ReportAllocs()
	for b.Loop() {
		p.SelfCrossings()
	}
}

func BenchmarkInset(b *testing.B) {
	p := benchPath()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Inset(5); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAt(b *testing.B) {
	p := benchPath()
	b.ReportAllocs()
	for b.Loop() {
		p.At(333)
	}
}
