package spread_test

import (
	"fmt"

	"panelwright/internal/spread"
)

// Two layers measured, a gap known only between limits, a receptacle with a tolerance: does the depth lie in the band?
func Example() {
	depth := spread.Sum{
		spread.NormalOf(3.0, 0.05),
		spread.NormalOf(1.5, 0.03),
		spread.RectangularOf(0.8, 1.2),
		spread.RectangularAbout(0, 0.1),
	}
	lo, hi := depth.Interval(0.95)
	fmt.Printf("%.3f ± %.3f, 95 %% in [%.3f, %.3f]\n", depth.Mean(), depth.SD(), lo, hi)
	fmt.Printf("worst at 3 sd: %.2f to %.2f\n", depth.Lowest(3), depth.Highest(3))
	fmt.Printf("chance in [5.2, 5.7]: %.4f\n", depth.Chance(5.2, 5.7))
	// Output:
	// 5.500 ± 0.142, 95 % in [5.235, 5.765]
	// worst at 3 sd: 4.96 to 6.04
	// chance in [5.2, 5.7]: 0.9062
}
