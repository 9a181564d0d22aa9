package spread

import (
	"math/rand/v2"
	"testing"
)

func benchChance(b *testing.B, s Sum) {
	m, d := s.Mean(), s.SD()
	b.ReportAllocs()
	for b.Loop() {
		s.Chance(m-d, m+1.5*d)
	}
}

// A stack as a job has it: layers between limits, one reading, parts with tolerances.
func BenchmarkChanceStack(b *testing.B) {
	benchChance(b, Sum{
		NormalOf(3, 0.05), NormalOf(1.5, 0.03), RectangularOf(0.8, 1.2), RectangularOf(-0.1, 0.1), TriangularOf(-0.2, 0, 0.2),
		ExactAt(-5),
	})
}

func BenchmarkChanceLimitsOnly(b *testing.B) {
	benchChance(b, Sum{
		RectangularAbout(3, 0.3), RectangularAbout(1.5, 0.1), RectangularAbout(1, 0.2), RectangularAbout(0, 0.05),
		RectangularAbout(0, 0.1), RectangularAbout(0, 0.15),
	})
}

// Ten equal parts and a normal one go by Fourier.
func BenchmarkChanceFourier(b *testing.B) {
	s := Sum{NormalOf(0, 0.1)}
	for range 10 {
		s = append(s, RectangularOf(0, 1))
	}
	benchChance(b, s)
}

// Three scales go by convolution.
func BenchmarkChanceScales(b *testing.B) {
	benchChance(b, Sum{RectangularOf(0, 1), RectangularOf(0, 1e-4), RectangularOf(0, 1e-7), TriangularOf(0, 1e-6, 2e-6)})
}

func BenchmarkInterval(b *testing.B) {
	s := Sum{NormalOf(3, 0.05), RectangularOf(0.8, 1.2), TriangularOf(-0.2, 0, 0.2)}
	b.ReportAllocs()
	for b.Loop() {
		s.Interval(0.95)
	}
}

func BenchmarkDraw(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	s := Sum{ExactAt(1), NormalOf(0, 1), RectangularOf(0, 1), TriangularOf(0, 0.3, 1)}
	b.ReportAllocs()
	for b.Loop() {
		s.Draw(rng)
	}
}

// Eight stations, 2000 samples: must stay below 50 ms.
func BenchmarkDropOn(b *testing.B) {
	for name, c := range map[string]float64{"rare": 0.2, "even": 0.33, "usual": 0.45} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				DropOn(eight, all(8, 1), all(8, c), 2000, 1)
			}
		})
	}
}
