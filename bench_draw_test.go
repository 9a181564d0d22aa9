package panelwright

import (
	"context"
	"testing"
)

// BenchmarkDraw makes every file of example 01's pack, and each by itself.
func BenchmarkDraw(b *testing.B) {
	p, _ := planExample(b, "examples/01-sprint/job.yaml")
	files, err := packFiles(p)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("all", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Draw(context.Background(), p, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
	for _, f := range files {
		b.Run(f.name, func(b *testing.B) {
			for b.Loop() {
				if err := f.draw(discardWriter{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

type discardWriter struct{}

func (discardWriter) Write(b []byte) (int, error) { return len(b), nil }
