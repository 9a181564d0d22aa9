package sheet_test

import (
	"fmt"
	"os"

	"panelwright/internal/plane"
	"panelwright/internal/sheet"
)

// A panel of 60 × 40 mm, drawn 1:2 on a card of 50 × 40 mm.
func Example() {
	s := sheet.Sheet{Title: "Sample lid", W: 50, H: 40}
	view := sheet.View{Origin: plane.Point{X: 10, Y: 30}, Scale: 0.5}
	lid := plane.Polygon(plane.Point{}, plane.Point{X: 60}, plane.Point{X: 60, Y: 40}, plane.Point{Y: 40})
	s.Add(sheet.Stroke{Path: view.Path(lid), Pen: &sheet.Outline, Layer: sheet.LayerOutline})
	s.Add(sheet.Text{At: view.Map(plane.Point{X: 30, Y: 20}), Size: sheet.Letters25, S: "lid", Align: sheet.Centre, Layer: sheet.LayerText})
	if err := sheet.WriteSVG(os.Stdout, s); err != nil {
		fmt.Println(err)
	}
	// Output:
	// <?xml version="1.0" encoding="UTF-8"?>
	// <svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40" font-family="'DejaVu Sans Condensed', 'Liberation Sans', sans-serif">
	// <title>Sample lid</title>
	// <g id="outline" class="outline">
	// <path d="M10 30L40 30L40 10L10 10Z" fill="none" stroke="#000000" stroke-width="0.5" stroke-linejoin="round"/>
	// </g>
	// <g id="text" class="text">
	// <text x="25" y="20" font-size="3.429" text-anchor="middle">lid</text>
	// </g>
	// </svg>
}
