// Package plate computes how a flat panel bends, on supports that only push and stations that pull with a preloaded wire:
// elements, condensation to the interface, one-sided contact, stresses, natural frequencies, and a certificate by separate
// code. Units: mm, N, MPa, tonne, s. Outward (w, pressure, force on the panel) is positive.
package plate

import (
	"fmt"

	"panelwright/internal/mesh"
)

// Section is the stiffness of the sheet per unit of width: what an element needs to know of it, whatever it is made of.
// Index 0, 1, 2 is x, y, xy, with engineering shear strain and twist; N = A·ε + B·κ, M = B·ε + D·κ, Q = S·γ.
type Section struct {
	A         [3][3]float64 // N/mm
	B         [3][3]float64 // N; zero for a balanced sheet
	D         [3][3]float64 // N·mm
	S         [2][2]float64 // N/mm, transverse shear (xz, yz), with its correction factor
	Mass      float64       // tonne/mm²
	Thickness float64       // mm
	Fibres    []Fibre       // where stress is wanted, from the outermost inwards
}

// Fibre is a depth at which stress is worked out: σ = Q·(ε + z·κ).
type Fibre struct {
	Name string        // "outer face", "inner face"
	Z    float64       // mm from the reference plane, outward positive
	Q    [3][3]float64 // MPa, plane stress stiffness of the layer there
}

// Model is a panel as the computation sees it. Each node has the unknowns w, θx, θy: the outward deflection and the rotation
// vector, right handed (thin: θx = ∂w/∂y, θy = −∂w/∂x).
type Model struct {
	Mesh     *mesh.Mesh
	Sections []Section
	Of       []int32 // section of each triangle; nil: all the first
	Fixed    []Fix
	Masses   []PointMass // swing with the sheet; loads do not count them
	Points   []int32     // interface nodes, each once: where stations, supports and seals may act on w
}

// PointMass is a mass at a node.
type PointMass struct {
	Node int32
	Mass float64 // tonne, 0 or more
}

// Fix holds a node still. Textbook edges need it; a panel on its supports does not.
type Fix struct {
	Node  int32
	W     bool
	Along bool    // no rotation about the axis at angle Dir
	Cross bool    // no rotation about the axis square to it
	Dir   float64 // rad
}

// Load is one case.
type Load struct {
	Pressure   float64   // MPa, outward, everywhere
	PressureOf []float64 // MPa, of each triangle, in addition; nil: none
	Accel      float64   // mm/s², outward, on the sections' mass
	Points     []PointLoad
}

// PointLoad is a force at a node.
type PointLoad struct {
	Node  int32
	Force float64 // N, outward
}

// Law is what acts on w at one interface point: a monotone broken line, force on the panel (outward positive) over w, that
// never rises with w. It runs straight through Knots and beyond them with the slopes Before and After; knots at one w make a
// vertical piece, which is a rigid stop. Before = −Inf is a rigid stop below the first knot's w. No knots: nothing acts.
type Law struct {
	Knots         []Knot  // W does not fall; at equal W, F falls
	Before, After float64 // N/mm, ≤ 0
}

// Knot is a corner of a law.
type Knot struct{ W, F float64 }

// Answer is the state of the interface in one case.
type Answer struct {
	W          []float64 // mm at each interface point
	Force      []float64 // N on the panel at each interface point, by its law
	Piece      []int32   // on which straight piece of its law each point stands: 0 before the first knot
	Iterations int
	Residual   float64 // greatest force out of balance at an interface point, over the greatest force
}

// Certificate is the evidence that an answer is one, worked out from the elements and the laws anew.
type Certificate struct {
	Load, Reaction float64 // N, sums of the outward loads and of the forces of the interface and the fixed nodes
	Balance        float64 // |Load + Reaction| over the sum of all their magnitudes
	Moment         float64 // moments about both axes out of balance, over the magnitudes' lever sum
	Residual       float64 // greatest nodal force or moment out of balance beyond rounding, relative to the greatest element force
	Law            float64 // farthest that a point stands off its law, mm and N made one by the scales below
	ScaleW, ScaleF float64 // mm and N by which Law was divided
}

// NotHeld says that nothing keeps the panel from moving away under the load.
type NotHeld struct {
	Reason string
	Motion [3]float64 // rigid motion that nothing stops: w = m0 + m1·x + m2·y (1, 1/mm); zero when not known
}

// Error says it in words.
func (e *NotHeld) Error() string { return "the panel is not held: " + e.Reason }

// NotConverged says that the contact iteration did not settle within its bound.
type NotConverged struct {
	Iterations int
	Residual   float64 // relative
}

// Error says it in words.
func (e *NotConverged) Error() string {
	return fmt.Sprintf("the contact does not settle: after %d steps %.3g of the force is out of balance", e.Iterations, e.Residual)
}
