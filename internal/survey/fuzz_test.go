package survey

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"
)

func FuzzAdjust(f *testing.F) {
	bytesOf := func(n Net) []byte {
		b := []byte{byte(n.Corners)}
		for _, d := range n.Distances {
			b = append(b, byte(d.From), byte(d.To), byte(d.StdUnc*16))
			b = binary.LittleEndian.AppendUint16(b, uint16(math.Round(d.Length*16)))
		}
		return b
	}
	f.Add(bytesOf(netOf(skew, 1, all(4)...)))
	f.Add(bytesOf(netOf(six, 1, all(6)...)))
	f.Add(bytesOf(netOf(ell, 2, all(6)[:10]...)))
	f.Add([]byte{4})
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) == 0 || len(b) > 200 {
			return
		}
		n := Net{Corners: int(b[0] % 10)}
		for b = b[1:]; len(b) >= 5; b = b[5:] {
			n.Distances = append(n.Distances, Distance{int(b[0] % 12), int(b[1] % 12), float64(binary.LittleEndian.Uint16(b[3:])) / 16, float64(b[2]) / 16})
		}
		r, err := Adjust(n)
		if err != nil {
			var input *InputError
			var loose *LooseError
			var triangle *TriangleError
			var converge *ConvergeError
			if r != nil || !errors.As(err, &input) && !errors.As(err, &loose) && !errors.As(err, &triangle) && !errors.As(err, &converge) {
				t.Fatalf("%v with %v", err, r)
			}
			if loose != nil && (len(loose.Corners) == 0 || loose.Missing < 1) || triangle != nil && !(triangle.By > 0) {
				t.Errorf("an error that names nothing: %+v", err)
			}
			return
		}
		checkSound(t, n, r)
	})
}

// checkSound holds a result against the readings: what is said of each follows from the corners.
func checkSound(t *testing.T, n Net, r *Result) {
	t.Helper()
	if r.Freedom != len(n.Distances)-2*n.Corners+3 || r.Corners[0].At.Len() != 0 || r.Corners[1].At.Y != 0 || !(r.Corners[1].At.X > 0) {
		t.Errorf("freedom %d, corners %v", r.Freedom, r.At())
	}
	sum, chi := 0.0, 0.0
	for i, d := range n.Distances {
		q := r.Readings[i]
		if got := r.Corners[d.From].At.Dist(r.Corners[d.To].At); !(math.Abs(got-q.Adjusted) <= 1e-3*d.StdUnc+1e-6*d.Length) {
			t.Errorf("reading %d: adjusted to %v, the corners give %v", i, q.Adjusted, got)
		}
		if !(q.Redundancy >= 0 && q.Redundancy <= 1+1e-9) {
			t.Errorf("reading %d: redundancy %v", i, q.Redundancy)
		}
		sum += q.Redundancy
		chi += q.Residual * q.Residual / (d.StdUnc * d.StdUnc)
	}
	if !(math.Abs(sum-float64(r.Freedom)) <= 1e-6) || !(math.Abs(chi-r.ChiSq) <= 1e-6*(1+r.ChiSq)) {
		t.Errorf("redundancies %v for %d; chi square %v, said %v", sum, r.Freedom, chi, r.ChiSq)
	}
	for c, k := range r.Corners {
		if !(k.SX >= 0 && k.SY >= 0 && k.Minor >= 0 && k.Major >= k.Minor) || math.IsInf(k.Major, 0) {
			t.Errorf("corner %d: %+v", c, k)
		}
	}
}

func BenchmarkAdjust(b *testing.B) {
	for name, n := range map[string]Net{"4 corners": netOf(skew, 1, all(4)...), "6 corners": netOf(six, 1, all(6)...)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Adjust(n); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
