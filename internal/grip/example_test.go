package grip_test

import (
	"fmt"

	"panelwright/internal/grip"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// An outer panel of 4.0 ± 0.3 mm on an inner one of 1.5 ± 0.1 mm, with parts of the sample range behind it.
func ExamplePair() {
	r := stock.SampleRange()
	stud, _ := r.StudByID("sample-raised-hand-8.6")
	plate, _ := r.PlateByID("sample-plate-outside")
	rec, _ := r.ReceptacleByID("sample-wire-behind-5.2")
	shim, _ := r.ShimByID("sample-shim-0.6")
	stack := spread.Sum{spread.RectangularAbout(4.0, 0.3), spread.RectangularAbout(1.5, 0.1)}
	d := grip.Demand{PreloadMin: 60, Ageing: 0.2, RatingFactor: 1.5, HandTorque: 1000, ToolTorque: 3000, Friction: 0.15}

	for n := range 3 {
		p := grip.Pair{Stud: stud, Plate: plate, Receptacle: rec, Shim: shim, Shims: n}
		c, o := p.Close(stack.Mean(), grip.NoSoft, d), p.Chance(stack, grip.NoSoft, d)
		fmt.Printf("%d shims: δ %.2f mm in %.2f to %.2f, F₀ %.0f N, turns at %.2f N·m; well %.3f, loose %.3f, tight %.3f\n",
			n, c.Delta, c.DeltaLo, c.DeltaHi, c.Preload, c.TurnTorque/1000, o.Well, o.Loose, o.Tight)
	}
	p := grip.Pair{Stud: stud, Plate: plate, Receptacle: rec, Shim: shim, Shims: 2}
	m := p.Miss(stack.Mean(), grip.NoSoft, d)
	fmt.Printf("with two it is %.2f mm beyond the %s: a reach of %.2f mm would do\n", m.Off, m.By, m.Reach)
	// Output:
	// 0 shims: δ 2.10 mm in 1.11 to 2.80, F₀ 147 N, turns at 0.63 N·m; well 1.000, loose 0.000, tight 0.000
	// 1 shims: δ 2.70 mm in 1.11 to 2.80, F₀ 189 N, turns at 0.78 N·m; well 0.666, loose 0.000, tight 0.334
	// 2 shims: δ 3.30 mm in 1.11 to 2.80, F₀ 231 N, turns at 0.93 N·m; well 0.001, loose 0.000, tight 0.999
	// with two it is 0.50 mm beyond the wire limit less crest: a reach of 9.95 mm would do
}
