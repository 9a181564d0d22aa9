package fem

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"panelwright/internal/plane"
)

// sandwich is a panel of three layers that the outside program gets as solids, twenty-node bricks, since its layered shells do
// not shear in the core. Its outline is held so that sections stay upright along it (w, and sliding along the edge).
type sandwich struct {
	width, height, cell   float64
	face, core            float64 // mm, thickness of either face and of the core
	faceE, faceNu, shearG float64
	coreNu                float64
	pressure              float64
	on                    func(plane.Point) bool
	looks                 []plane.Point // corners of cells
}

// brickNodes are the nodes of a brick in half cells from its corner, in the outside program's order.
var brickNodes = [20][3]int{{0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {0, 2, 0}, {0, 0, 2}, {2, 0, 2}, {2, 2, 2}, {0, 2, 2},
	{1, 0, 0}, {2, 1, 0}, {1, 2, 0}, {0, 1, 0}, {1, 0, 2}, {2, 1, 2}, {1, 2, 2}, {0, 1, 2}, {0, 0, 1}, {2, 0, 1}, {2, 2, 1}, {0, 2, 1}}

// solve gives the deflection at each of the looks, in the middle of the core.
func (s *sandwich) solve(t testing.TB) []float64 {
	t.Helper()
	var nodes, elems, fixed, loads strings.Builder
	nx, ny := int(s.width/s.cell), int(s.height/s.cell)
	levels := []float64{-s.core/2 - s.face, -s.core/2 - s.face/2, -s.core / 2, 0, s.core / 2, s.core/2 + s.face/2, s.core/2 + s.face}
	number := map[[3]int]int{}
	node := func(i, j, k int) int {
		n, ok := number[[3]int{i, j, k}]
		if ok {
			return n
		}
		n = len(number) + 1
		number[[3]int{i, j, k}] = n
		fmt.Fprintf(&nodes, "%d,%.9e,%.9e,%.9e\n", n, s.cell*float64(i)/2, s.cell*float64(j)/2, levels[k])
		endX, endY := i == 0 || i == 2*nx, j == 0 || j == 2*ny
		for k, hold := range []bool{endY, endX, endX || endY} {
			if hold {
				fmt.Fprintf(&fixed, "%d,%d\n", n, k+1)
			}
		}
		return n
	}
	count := 0
	for layer, set := range []string{"FACE", "CORE", "FACE"} {
		for c := range nx * ny {
			i, j := c%nx, c/nx
			count++
			fmt.Fprintf(&elems, "*ELEMENT,TYPE=C3D20R,ELSET=%s\n%d", set, count)
			for n, at := range brickNodes {
				if n == 14 { // a line holds no more, and ends with a comma
					fmt.Fprintf(&elems, ",\n%d", node(2*i+at[0], 2*j+at[1], 2*layer+at[2]))
					continue
				}
				fmt.Fprintf(&elems, ",%d", node(2*i+at[0], 2*j+at[1], 2*layer+at[2]))
			}
			fmt.Fprintln(&elems)
			if layer == 2 && s.on(plane.Point{X: s.cell * (float64(i) + 0.5), Y: s.cell * (float64(j) + 0.5)}) {
				fmt.Fprintf(&loads, "%d,P2,%.9e\n", count, -s.pressure) // on its outer face, pulling
			}
		}
	}
	input := "*NODE,NSET=ALL\n" + nodes.String() + elems.String() +
		fmt.Sprintf("*MATERIAL,NAME=FACE\n*ELASTIC\n%.9e,%.9e\n*MATERIAL,NAME=CORE\n*ELASTIC\n%.9e,%.9e\n", s.faceE, s.faceNu, 2*s.shearG*(1+s.coreNu), s.coreNu) +
		"*SOLID SECTION,ELSET=FACE,MATERIAL=FACE\n*SOLID SECTION,ELSET=CORE,MATERIAL=CORE\n*BOUNDARY\n" + fixed.String() +
		"*STEP\n*STATIC\n*DLOAD\n" + loads.String() + "*NODE PRINT,NSET=ALL\nU\n*END STEP\n"
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "sandwich.inp"), []byte(input), 0o644); err != nil {
		t.Fatal(err)
	}
	blocks := readBlocks(t, run(t, dir, "sandwich"))
	if len(blocks) != 1 {
		t.Fatalf("%d tables printed, want the deflections", len(blocks))
	}
	w := map[int]float64{}
	for _, r := range blocks[0].rows {
		w[int(r[0])] = r[3]
	}
	var out []float64
	for _, at := range s.looks {
		out = append(out, w[number[[3]int{2 * int(at.X/s.cell+0.5), 2 * int(at.Y/s.cell+0.5), 3}]])
	}
	return out
}
