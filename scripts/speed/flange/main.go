// Command flange works out the contact of a panel of 1200 × 800 mm on a flange of 384 pads, held by eight stations with preload, at
// five levels of suction, mesh to forces, and prints how long each phase took. With -after it goes on: each station left out in
// turn, and one station moved.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"slices"
	"time"

	"panelwright/internal/mesh"
	"panelwright/internal/plane"
	"panelwright/internal/plate"
)

func main() {
	after := flag.Bool("after", false, "go on with one station missing and one moved")
	flag.Parse()
	out, err := work(*after)
	if err == nil {
		err = json.NewEncoder(os.Stdout).Encode(out)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// edge gives about 22,200 unknowns, mm.
const edge = 18.6

func stations() []plane.Point {
	return []plane.Point{{X: 20, Y: 20}, {X: 600, Y: 20}, {X: 1180, Y: 20}, {X: 20, Y: 400}, {X: 1180, Y: 400}, {X: 20, Y: 780}, {X: 600, Y: 780}, {X: 1180, Y: 780}}
}

// pads are every 20 mm on the outline and on the rectangle 40 mm inside it.
func pads() (out []plane.Point) {
	for _, in := range []float64{0, 40} {
		for x := in; x <= 1200-in; x += 20 {
			out = append(out, plane.Point{X: x, Y: in}, plane.Point{X: x, Y: 800 - in})
		}
		for y := in + 20; y < 800-in; y += 20 {
			out = append(out, plane.Point{X: in, Y: y}, plane.Point{X: 1200 - in, Y: y})
		}
	}
	return out
}

// station is drawn to a preload of 60 N.
func station() plate.Law { return plate.Station(150, 60.0/150, 5000) }

func pad() plate.Law { return plate.Pad(2000) }

func work(after bool) (map[string]float64, error) {
	out := map[string]float64{}
	from := time.Now()
	lap := func(phase string) {
		out[phase+" s"] = time.Since(from).Seconds()
		from = time.Now()
	}
	points := append(stations(), pads()...)
	var laws []plate.Law
	for range stations() {
		laws = append(laws, station())
	}
	for range pads() {
		laws = append(laws, pad())
	}
	m, err := mesh.Build(mesh.Domain{Region: plane.Region{Outer: plane.Rectangle(1200, 800)}, Points: points, Size: mesh.Size{Max: edge}})
	if err != nil {
		return nil, err
	}
	lap("1 mesh")
	system, err := plate.Assemble(&plate.Model{Mesh: m, Sections: []plate.Section{plate.Sheet(7000, 0.35, 12, 1.5e-9)}, Points: m.Points})
	if err != nil {
		return nil, err
	}
	lap("2 assemble")
	it, err := system.Condense(0)
	if err != nil {
		return nil, err
	}
	lap("3 condense")
	compliance, err := plate.NewCompliance(it.S, laws, nil)
	if err != nil {
		return nil, err
	}
	lap("4 compliance")
	reduced := it.Reduce([]plate.Load{{}, {Pressure: 0.0005}, {Pressure: 0.001}, {Pressure: 0.0015}, {Pressure: 0.002}})
	lap("5 loads")
	var a *plate.Answer
	for _, f := range reduced.F {
		if a, err = compliance.Solve(f, laws, a); err != nil {
			return nil, err
		}
	}
	lap("6 contact, 5 levels")
	out["unknowns"], out["corner N"], out["long edge N"], out["short edge N"] = float64(system.Unknowns()), -a.Force[0], -a.Force[1], -a.Force[3]
	if after {
		return out, goOn(out, compliance, reduced.F[len(reduced.F)-1], laws, a)
	}
	return out, nil
}

// goOn leaves each station out in turn, from the answer with all of them, and moves one to the next pad.
func goOn(out map[string]float64, c *plate.Compliance, f []float64, laws []plate.Law, all *plate.Answer) error {
	from := time.Now()
	for i := range stations() {
		missing := slices.Clone(laws)
		missing[i] = plate.Law{}
		if _, err := c.Solve(f, missing, all); err != nil {
			return err
		}
	}
	out["7 one missing, 8 cases s"] = time.Since(from).Seconds()
	moved := slices.Clone(laws)
	to := slices.Index(pads(), plane.Point{X: 560, Y: 40}) + len(stations())
	moved[1], moved[to] = plate.Law{}, plate.Sum(pad(), station())
	from = time.Now()
	a, err := c.Solve(f, moved, all)
	if err != nil {
		return err
	}
	out["8 one moved s"], out["moved N"] = time.Since(from).Seconds(), a.Force[to]
	return nil
}
