// Command factor factors the stiffness of an irregular panel of about 45,000 unknowns five times and prints the medians of each
// phase; with -write it writes the same matrix for the outside program and does nothing else.
package main

import (
	"bufio"
	"encoding/binary"
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
	write := flag.String("write", "", "file for the matrix: lower half, column after column")
	workers := flag.Int("workers", 0, "goroutines; 0: one for each processor")
	flag.Parse()
	if err := work(*write, *workers); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// edge gives about 45,000 unknowns, mm.
const edge = 11.68

// panel is an L with a rounded corner and two cut-outs, finer about its stations, held at three nodes.
func panel() (*plate.System, error) {
	outer, err := plane.RoundCorners(plane.Polygon(plane.Point{}, plane.Point{X: 1200}, plane.Point{X: 1200, Y: 500}, plane.Point{X: 700, Y: 500}, plane.Point{X: 700, Y: 800}, plane.Point{Y: 800}),
		[]float64{0, 120, 0, 40, 0, 200})
	if err != nil {
		return nil, err
	}
	d := mesh.Domain{Region: plane.Region{Outer: outer, CutOuts: []plane.Path{plane.CircleAt(plane.Point{X: 300, Y: 400}, 90), plane.Rectangle(150, 100).Transform(plane.Move(plane.Point{X: 800, Y: 200}))}}.Normalise()}
	d.Size.Max = edge
	for _, p := range []plane.Point{{X: 25, Y: 25}, {X: 600, Y: 25}, {X: 1050, Y: 60}, {X: 1175, Y: 475}, {X: 500, Y: 775}, {X: 25, Y: 500}} {
		d.Points = append(d.Points, p)
		d.Size.Near = append(d.Size.Near, mesh.Near{At: p, Step: 2})
	}
	m, err := mesh.Build(d)
	if err != nil {
		return nil, err
	}
	model := &plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(7000, 0.35, 3, 1.5e-9)}}
	for _, n := range []int32{m.Points[0], m.Points[3], m.Points[4]} {
		model.Fixed = append(model.Fixed, plate.Fix{Node: n, W: true})
	}
	return plate.Assemble(model)
}

func work(write string, workers int) error {
	from := time.Now()
	s, err := panel()
	if err != nil {
		return err
	}
	if write != "" {
		return export(write, s)
	}
	out := map[string]float64{"unknowns": float64(s.Unknowns()), "mesh and assemble s": time.Since(from).Seconds()}
	x, b := slices.Repeat([]float64{1}, s.Unknowns()), make([]float64, s.Unknowns())
	s.Stiffness().MulAdd(b, x)
	var analyse, factor, solve []float64
	for range 5 {
		shape := shapeOf(s)
		from = time.Now()
		if _, err := sparse.Analyse(shape); err != nil {
			return err
		}
		analyse = append(analyse, time.Since(from).Seconds())
		from = time.Now()
		f, err := s.Plan().Factor(s.Stiffness(), sparse.Options{Workers: workers})
		if err != nil {
			return err
		}
		factor = append(factor, time.Since(from).Seconds())
		y := slices.Clone(b)
		from = time.Now()
		if err := f.Solve(y); err != nil {
			return err
		}
		solve = append(solve, time.Since(from).Seconds())
		for i := range y {
			out["off"] = max(out["off"], math.Abs(y[i]-1))
		}
	}
	slices.Sort(analyse)
	slices.Sort(factor)
	slices.Sort(solve)
	st := s.Plan().Stats()
	out["analyse s"], out["factor s"], out["solve s"], out["entries"], out["flops"] = analyse[2], factor[2], solve[2], float64(st.FactorEntries), st.Flops
	return json.NewEncoder(os.Stdout).Encode(out)
}

// export writes the matrix: count of unknowns and of entries, starts of columns, rows, values. The entries are found out from
// products: columns that share no row are multiplied at once.
func export(path string, s *plate.System) error {
	n := s.Unknowns()
	near := neighbours(s)
	colour := make([]int, n)
	rows := make([][]int32, n) // columns of each row so far, by colour
	colours := 0
	for j := range n {
		taken := map[int]bool{}
		for _, i := range near[j] {
			for _, c := range rows[i] {
				taken[int(c)] = true
			}
		}
		c := 0
		for taken[c] {
			c++
		}
		colour[j], colours = c, max(colours, c+1)
		for _, i := range near[j] {
			rows[i] = append(rows[i], int32(c))
		}
	}
	value := make([]map[int32]float64, n)
	for j := range value {
		value[j] = map[int32]float64{}
	}
	for c := range colours {
		x, y := make([]float64, n), make([]float64, n)
		for j := range n {
			if colour[j] == c {
				x[j] = 1
			}
		}
		s.Stiffness().MulAdd(y, x)
		for j := range n {
			if colour[j] == c {
				for _, i := range near[j] {
					value[j][i] = y[i]
				}
			}
		}
	}
	starts := make([]int32, n+1)
	var index []int32
	var entries []float64
	for j := range n {
		for _, i := range near[j] {
			if int(i) >= j {
				index, entries = append(index, i), append(entries, value[j][i])
			}
		}
		starts[j+1] = int32(len(index))
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	for _, part := range []any{int32(n), int32(len(index)), starts, index, entries} {
		if err := binary.Write(w, binary.LittleEndian, part); err != nil {
			return err
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Close()
}

// neighbours gives the rows in which each column may have entries, in order: the unknowns of the nodes that share a triangle.
func neighbours(s *plate.System) [][]int32 {
	m := s.Model.Mesh
	nodes := make([]map[int32]bool, len(m.Nodes))
	for i := range nodes {
		nodes[i] = map[int32]bool{int32(i): true}
	}
	for _, t := range m.Tris {
		for _, a := range t {
			for _, b := range t {
				nodes[a][b] = true
			}
		}
	}
	start := shapeOf(s).Start
	out := make([][]int32, s.Unknowns())
	for i := range nodes {
		var near []int32
		for k := range nodes[i] {
			for u := start[k]; u < start[k+1]; u++ {
				near = append(near, u)
			}
		}
		slices.Sort(near)
		for u := start[i]; u < start[i+1]; u++ {
			out[u] = near
		}
	}
	return out
}

// shapeOf gives the shape of the stiffness again: unknowns are numbered node after node, three at each but where w is held.
func shapeOf(s *plate.System) sparse.Shape {
	m := s.Model.Mesh
	shape := sparse.Shape{Start: []int32{0}}
	for i, p := range m.Nodes {
		count := int32(3)
		if s.Deflection(int32(i)) < 0 {
			count = 2
		}
		shape.Start, shape.X, shape.Y = append(shape.Start, shape.Start[i]+count), append(shape.X, p.X), append(shape.Y, p.Y)
	}
	if int(shape.Start[len(m.Nodes)]) != s.Unknowns() {
		panic("factor: the unknowns are numbered otherwise")
	}
	for i := range m.Tris {
		shape.Elements = append(shape.Elements, m.Tris[i][:])
	}
	return shape
}
