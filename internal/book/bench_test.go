package book

import (
	"fmt"
	"strings"
	"testing"
)

// The sizes are a job of one panel, of a whole vehicle, and the largest text.
var sizes = []int{4 << 10, 64 << 10, TextMax}

func BenchmarkSave(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size>>10, "kB"), func(b *testing.B) {
			k := newBook(b)
			r := must(k.Create(Change{Name: "sample", Text: "0"}))(b)
			text := strings.Repeat("x", size-8)
			b.SetBytes(int64(size))
			for i := 0; b.Loop(); i++ {
				r = must(k.Save(r.Vehicle, r.No, Change{Text: fmt.Sprintf("%08d", i) + text}))(b)
			}
		})
	}
}

func BenchmarkGet(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size>>10, "kB"), func(b *testing.B) {
			k := newBook(b)
			r := must(k.Create(Change{Name: "sample", Text: strings.Repeat("x", size)}))(b)
			b.SetBytes(int64(size))
			for b.Loop() {
				must(k.Get(r.Vehicle))(b)
			}
		})
	}
}

// BenchmarkOpen reads a book of 100 vehicles with 10 revisions of 20 kB each through.
func BenchmarkOpen(b *testing.B) {
	k := newBook(b)
	for v := range 100 {
		r := must(k.Create(Change{Name: "sample", Text: "0"}))(b)
		for no := range 10 {
			r = must(k.Save(r.Vehicle, r.No, Change{Text: strings.Repeat(fmt.Sprintf("%04d %04d\n", v, no), 2000)}))(b)
		}
	}
	if err := k.Close(); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		must(Open(k.Path()))(b).Close()
	}
}
