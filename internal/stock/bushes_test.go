package stock

import "testing"

// The table has a bush for every bore up to its end, each wider than its bore, rising. DIN 179, from memory.
func TestBushes(t *testing.T) {
	all := Bushes()
	for i, b := range all {
		if i > 0 && (b.Over != all[i-1].To || b.Outside <= all[i-1].Outside || b.Length < all[i-1].Length) {
			t.Errorf("%+v after %+v", b, all[i-1])
		}
		if !(b.Outside > b.To+1) || b.Origin.Status != "memory" {
			t.Errorf("%+v", b)
		}
	}
	for d, want := range map[float64]float64{3: 6, 3.3: 6, 4.1: 8, 12.5: 22, 2.5: 5} {
		n := 0
		for _, b := range all {
			if b.Fits(d) {
				n++
				if b.Outside != want {
					t.Errorf("bore %g: outside %g, want %g", d, b.Outside, want)
				}
			}
		}
		if n != 1 {
			t.Errorf("bore %g: %d bushes", d, n)
		}
	}
	if own := (Bush{Over: 3.2, To: 3.2}); !own.Fits(3.2) || own.Fits(3.3) {
		t.Error("a bush of one bore")
	}
}
