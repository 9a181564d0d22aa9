package sheet

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"panelwright/internal/plane"
)

// linesOf returns the straight strokes among the marks that have two ends.
func linesOf(items []Item) (out [][2]plane.Point) {
	for _, it := range items {
		if s, ok := it.(Stroke); ok && len(s.Path.V) == 2 && !s.Path.Closed {
			out = append(out, [2]plane.Point{s.Path.V[0].Point, s.Path.V[1].Point})
		}
	}
	return out
}

func textsOf(items []Item) (out []Text) {
	for _, it := range items {
		if t, ok := it.(Text); ok {
			out = append(out, t)
		}
	}
	return out
}

// boxOf is the rectangle, along its own line, that a text takes, as four corners on the page.
func boxOf(t Text) []plane.Point {
	h := halo(t)
	var out []plane.Point
	for _, v := range h.Path.V {
		out = append(out, v.Point)
	}
	return out
}

func TestCheckScaleIsExactlyAsLong(t *testing.T) {
	for _, long := range []float64{100, 150, 50, 40, 33.5, 200} {
		for _, horizontal := range []bool{true, false} {
			items := CheckScale(20, 30, long, horizontal)
			main := linesOf(items)[0]
			end := map[bool]plane.Point{true: pt(20+long, 30), false: pt(20, 30+long)}[horizontal]
			if main != [2]plane.Point{pt(20, 30), end} {
				t.Errorf("main line %v, want to %v", main, end)
			}
			ticks := len(linesOf(items)) - 1
			if w := int(math.Ceil(long/10)) + 1; ticks != w {
				t.Errorf("%g mm: %d ticks, want %d", long, ticks, w)
			}
			said := false
			for _, x := range textsOf(items) {
				said = said || strings.Contains(x.S, short(long, 2)+" mm")
			}
			if !said {
				t.Errorf("%g mm: the scale does not say its length", long)
			}
			checkTextsApart(t, fmt.Sprintf("scale of %g mm", long), items)
		}
	}
}

// checkTextsApart fails when two texts that stand the same way run into each other.
func checkTextsApart(t *testing.T, what string, items []Item) {
	t.Helper()
	texts := textsOf(items)
	for i, a := range texts {
		for _, b := range texts[:i] {
			if a.Turn != b.Turn {
				continue
			}
			// In a frame turned with the text both are upright boxes.
			lo, hi := bounds(boxOf(a), a.Turn)
			lo2, hi2 := bounds(boxOf(b), a.Turn)
			if lo.X < hi2.X && lo2.X < hi.X && lo.Y+0.5 < hi2.Y && lo2.Y+0.5 < hi.Y {
				t.Errorf("%s: %q runs into %q", what, a.S, b.S)
			}
		}
	}
}

func bounds(pts []plane.Point, turn float64) (lo, hi plane.Point) {
	lo, hi = pt(math.Inf(1), math.Inf(1)), pt(math.Inf(-1), math.Inf(-1))
	for _, p := range pts {
		p = p.Rotate(turn)
		lo = pt(math.Min(lo.X, p.X), math.Min(lo.Y, p.Y))
		hi = pt(math.Max(hi.X, p.X), math.Max(hi.Y, p.Y))
	}
	return lo, hi
}

// Wherever a and b are: tips of the arrows on the extension lines of a and b, line and text on the side asked for, text
// never on its head and clear of the dimension line.
func TestDimension(t *testing.T) {
	rng := rand.New(rand.NewSource(4))
	for n := range 500 {
		a := pt(rng.Float64()*200, rng.Float64()*200)
		long := math.Exp(rng.Float64()*5 - 0.5)
		b := a.Add(pt(long, 0).Rotate(rng.Float64() * 7))
		offset := (5 + 10*rng.Float64()) * float64(1-2*rng.Intn(2))
		items := Dimension(a, b, offset, "123.4")
		dir := b.Sub(a).Unit()
		normal := dir.Perp()
		var tips []plane.Point
		for _, it := range items {
			if s, ok := it.(Stroke); ok && s.Path.Closed {
				tips = append(tips, s.Path.V[0].Point)
			}
		}
		if len(tips) != 2 {
			t.Fatalf("case %d: %d arrows", n, len(tips))
		}
		for i, from := range []plane.Point{a, b} {
			if d := tips[i].Dist(from.Add(normal.Scale(offset))); d > 1e-9 {
				t.Errorf("case %d: tip %d is %g mm off", n, i, d)
			}
		}
		for _, l := range linesOf(items) {
			along := math.Abs(l[1].Sub(l[0]).Unit().Dot(dir))
			if along > 1e-9 && math.Abs(along-1) > 1e-9 {
				t.Errorf("case %d: a line askew", n)
			}
		}
		text := textsOf(items)[0]
		up := pt(math.Sin(text.Turn), math.Cos(text.Turn)) // of the letters; y of the page turned upwards
		if up.Y < -1e-5 || up.Y < 1e-5 && up.X > 0 {
			t.Errorf("case %d: text turned by %g stands on its head", n, text.Turn)
		}
		for _, c := range boxOf(text) {
			if gap := math.Abs(c.Sub(tips[0]).Dot(normal)); gap < Thin.Width {
				t.Errorf("case %d: the text's band is %g mm from the dimension line", n, gap)
			}
		}
	}
	if items := Dimension(pt(1, 1), pt(1, 1), 5, "0"); len(items) != 1 {
		t.Errorf("no distance: %d marks", len(items))
	}
}

func TestLeaderPointsAtIt(t *testing.T) {
	for _, to := range []plane.Point{pt(80, 20), pt(20, 20), pt(80, 80), pt(20, 80), pt(50, 10)} {
		items := Leader(pt(50, 50), to, "one\ntwo")
		texts := textsOf(items)
		if len(texts) != 2 || texts[0].S != "one" || texts[1].At.Y <= texts[0].At.Y {
			t.Fatalf("texts %v", texts)
		}
		tip := false
		for _, it := range items {
			if s, ok := it.(Stroke); ok && s.Path.Closed && s.Path.V[0].Point == pt(50, 50) {
				tip = true
			}
		}
		if !tip {
			t.Errorf("to %v: no arrow at the thing", to)
		}
		for _, x := range texts {
			lo, hi := bounds(boxOf(x), 0)
			if to.X < 50 && hi.X > to.X || to.X >= 50 && lo.X < to.X {
				t.Errorf("to %v: text from %.1f to %.1f lies over the leader", to, lo.X, hi.X)
			}
		}
	}
	if Arrow(pt(1, 1), pt(1, 1)) != nil {
		t.Error("an arrow without direction")
	}
}

func TestMarksAreCentred(t *testing.T) {
	for name, items := range map[string][]Item{"centre": CentreMark(pt(40, 50), 12), "registration": RegistrationMark(pt(40, 50))} {
		sum := plane.Point{}
		reach := 0.0
		for _, l := range linesOf(items) {
			sum = sum.Add(l[0].Sub(pt(40, 50))).Add(l[1].Sub(pt(40, 50)))
			reach = math.Max(reach, l[1].Dist(pt(40, 50)))
		}
		want(t, name+" mark's balance", sum.Len(), 0, 1e-12)
		want(t, name+" mark's reach", reach, map[string]float64{"centre": 6, "registration": 5}[name], 1e-12)
	}
}

func TestScaleBar(t *testing.T) {
	items := ScaleBar(10, 50, 0.2, 50, 4)
	right, black := 0.0, 0
	for _, it := range items {
		if s, ok := it.(Stroke); ok {
			for _, v := range s.Path.V {
				right = math.Max(right, v.X)
			}
			if s.Fill != nil {
				black++
			}
		}
	}
	want(t, "right end", right, 10+4*50*0.2, 1e-9)
	want(t, "black boxes", float64(black), 2, 0)
	checkTextsApart(t, "scale bar", items)
}
