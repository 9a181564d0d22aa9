package plane_test

import (
	"fmt"

	"panelwright/internal/plane"
)

// A lid with rounded corners and a round cut-out, and the line on which its stations stand.
func Example() {
	outline, err := plane.RoundedRectangle(400, 250, 30)
	if err != nil {
		fmt.Println(err)
		return
	}
	lid := plane.Region{Outer: outline, CutOuts: []plane.Path{plane.CircleAt(plane.Point{X: 300, Y: 125}, 40)}}
	seat, err := outline.Inset(15)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("area %.1f mm², seat line %.1f mm\n", lid.Area(), seat.Length())
	fmt.Println(lid.Contains(plane.Point{X: 300, Y: 125}), lid.Contains(plane.Point{X: 5, Y: 125}), lid.Contains(plane.Point{X: 0, Y: 125}))
	_, err = outline.Inset(130)
	fmt.Println(err)
	// Output:
	// area 94200.9 mm², seat line 1154.2 mm
	// outside inside on the edge
	// no offset by 130 mm: nothing is left; 124.9 mm works
}
