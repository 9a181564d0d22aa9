package job

import (
	"math"
	"testing"

	"panelwright/internal/plane"
)

// A seat line further in than the corner's radius ends with the straight part; one nearer keeps the arc.
func TestSeatPathAtRoundCorners(t *testing.T) {
	for _, c := range []struct{ radius, inset, length float64 }{
		{12, 25, 300 - 24},                  // used up: the straight part alone
		{40, 25, 300 - 80 + 2*math.Pi/4*15}, // half a corner of radius 15 at each end
		{25, 25, 300 - 50},                  // used up to a point
		{0, 25, 300},                        // sharp
	} {
		outer := plane.Rectangle(300, 200)
		if c.radius > 0 {
			var err error
			if outer, err = plane.RoundedRectangle(300, 200, c.radius); err != nil {
				t.Fatal(err)
			}
		}
		pan := &Panel{Outline: plane.Region{Outer: outer}}
		s, _, _ := outer.Nearest(plane.Point{X: 150})
		half := (300-2*c.radius)/2 + math.Pi/4*c.radius
		e := Edge{From: s - half, To: s + half}
		if e.From < 0 { // begin the edge on the path that wraps
			e.From, e.To = e.From+outer.Length(), e.To+outer.Length()
		}
		got, err := pan.SeatPath(e, c.inset)
		if err != nil {
			t.Errorf("radius %g: %v", c.radius, err)
			continue
		}
		if d := math.Abs(got.Length() - c.length); d > 1e-9 {
			t.Errorf("radius %g, inset %g: length %.6f, want %.6f", c.radius, c.inset, got.Length(), c.length)
		}
	}
}
