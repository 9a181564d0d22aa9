// Command panel works out a panel of 1200 × 800 mm on eight springs, mesh to stresses, and prints how long each phase took.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"time"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
	"panelwright/internal/sparse"
)

func main() {
	unknowns := flag.Int("unknowns", 24400, "about how many")
	flag.Parse()
	out, err := work(*unknowns)
	if err == nil {
		err = json.NewEncoder(os.Stdout).Encode(out)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// nodesPerCell is how many nodes our mesh has in a square of the longest edge wanted: its edges are shorter than that on the whole.
const nodesPerCell = 2.58

func work(unknowns int) (map[string]float64, error) {
	out := map[string]float64{}
	from := time.Now()
	lap := func(phase string) {
		out[phase+" s"] = time.Since(from).Seconds()
		from = time.Now()
	}
	edge := math.Sqrt(1200 * 800 * nodesPerCell / (float64(unknowns) / 3))
	points := []plane.Point{{X: 20, Y: 20}, {X: 600, Y: 20}, {X: 1180, Y: 20}, {X: 20, Y: 400}, {X: 1180, Y: 400}, {X: 20, Y: 780}, {X: 600, Y: 780}, {X: 1180, Y: 780}}
	m, err := mesh.Build(mesh.Domain{Region: plane.Region{Outer: plane.Rectangle(1200, 800)}, Points: points, Size: mesh.Size{Max: edge, Nodes: unknowns}})
	if err != nil {
		return nil, err
	}
	lap("mesh")
	system, err := plate.Assemble(&plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(7000, 0.35, 12, 1.5e-9)}, Points: m.Points})
	if err != nil {
		return nil, err
	}
	out["unknowns"] = float64(system.Unknowns())
	lap("assemble")
	it, err := system.Condense(0)
	if err != nil {
		return nil, err
	}
	lap("factor")
	reduced := it.Reduce([]plate.Load{{Pressure: 0.002}})
	w := slices.Clone(reduced.F[0])
	for i := range w {
		it.S[i*len(w)+i] += 150 // N/mm of each spring
	}
	if err := sparse.Cholesky(it.S, len(w)); err != nil {
		return nil, err
	}
	sparse.CholeskySolve(it.S, len(w), w, 1)
	field := it.Field(reduced, 0, w)
	lap("solve")
	stress := system.Stress(field)
	lap("stress")
	_, _, mises := stress.Worst()
	out["w mm"], out["mises MPa"] = slices.Max(field.W), mises
	return out, nil
}
