package sheet

import (
	"math"
	"sync"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"panelwright/internal/plane"
)

// LetterTol is how far (mm) the straight pieces of a letter's outline may lie off its curves.
const LetterTol = 0.02

// TextPaths returns the outlines of a text's letters as closed paths on the page, placed, sized, turned and aligned as the text is.
// A letter's outer outlines enclose positive area, the holes within them negative (as on the page: y downwards). It fails with
// *MissingGlyph.
func TextPaths(t Text) ([]plane.Path, error) {
	if err := checkText(t, ""); err != nil {
		return nil, err
	}
	x := 0.0
	switch t.Align {
	case Centre:
		x = -TextWidth(t.S, t.Size, t.Font) / 2
	case Right:
		x = -TextWidth(t.S, t.Size, t.Font)
	}
	var out []plane.Path
	for _, r := range t.S {
		glyph := letterOutline(t.Font, r)
		for _, contour := range glyph {
			p := plane.Path{Closed: true}
			for _, q := range contour.flatten(LetterTol / t.Size) {
				at := plane.Point{X: x + q.X*t.Size, Y: q.Y * t.Size}.Rotate(-t.Turn)
				p.V = append(p.V, plane.Vertex{Point: t.At.Add(at)})
			}
			if len(p.V) > 2 {
				out = append(out, p)
			}
		}
		x += TextWidth(string(r), t.Size, t.Font)
	}
	return out, nil
}

// contour is one outline of a letter in ems, y downwards: a start and quadratic or straight pieces.
type contour struct {
	start  plane.Point
	pieces []letterPiece
}

type letterPiece struct {
	control, to plane.Point
	curved      bool
}

// flatten returns corners and points along the curves, within tol.
func (c contour) flatten(tol float64) []plane.Point {
	pts := []plane.Point{c.start}
	at := c.start
	for _, g := range c.pieces {
		if g.curved {
			// A quadratic of second difference d stands d/8·(1/n²) off n chords, n ≤ √(|d|/8/tol) … with d = a − 2c + b.
			d := at.Sub(g.control.Scale(2)).Add(g.to).Len()
			n := max(2, int(math.Ceil(math.Sqrt(d/8/tol))))
			for i := 1; i < n; i++ {
				t := float64(i) / float64(n)
				pts = append(pts, at.Scale((1-t)*(1-t)).Add(g.control.Scale(2*t*(1-t))).Add(g.to.Scale(t*t)))
			}
		}
		pts = append(pts, g.to)
		at = g.to
	}
	// The last returns to the start; points on each other go.
	var out []plane.Point
	for _, p := range pts {
		if n := len(out); n == 0 || out[n-1].Dist(p) > 1e-9 {
			out = append(out, p)
		}
	}
	if n := len(out); n > 1 && out[0].Dist(out[n-1]) <= 1e-9 {
		out = out[:n-1]
	}
	return out
}

type letterKey struct {
	f Font
	r rune
}

var letterStore = struct {
	sync.Mutex
	font [2]*sfnt.Font
	seen map[letterKey][]contour
}{seen: map[letterKey][]contour{}}

// letterOutline loads a letter's outlines from the embedded face, once.
func letterOutline(f Font, r rune) []contour {
	letterStore.Lock()
	defer letterStore.Unlock()
	key := letterKey{f, r}
	if c, ok := letterStore.seen[key]; ok {
		return c
	}
	if letterStore.font[f] == nil {
		ttf := regularTTF
		if f == Bold {
			ttf = boldTTF
		}
		face, err := sfnt.Parse(ttf)
		if err != nil {
			panic("sheet: embedded font: " + err.Error())
		}
		letterStore.font[f] = face
	}
	face := letterStore.font[f]
	var buf sfnt.Buffer
	i, err := face.GlyphIndex(&buf, r)
	if err != nil {
		panic("sheet: embedded font: " + err.Error())
	}
	upem := int(face.UnitsPerEm())
	segs, err := face.LoadGlyph(&buf, i, fixed.I(upem), nil)
	if err != nil {
		panic("sheet: embedded font: " + err.Error())
	}
	pt := func(p fixed.Point26_6) plane.Point {
		return plane.Point{X: float64(p.X) / 64 / float64(upem), Y: float64(p.Y) / 64 / float64(upem)}
	}
	var out []contour
	for _, s := range segs {
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			out = append(out, contour{start: pt(s.Args[0])})
		case sfnt.SegmentOpLineTo:
			c := &out[len(out)-1]
			c.pieces = append(c.pieces, letterPiece{to: pt(s.Args[0])})
		case sfnt.SegmentOpQuadTo:
			c := &out[len(out)-1]
			c.pieces = append(c.pieces, letterPiece{control: pt(s.Args[0]), to: pt(s.Args[1]), curved: true})
		default:
			panic("sheet: embedded font: a cubic curve in a TrueType face")
		}
	}
	letterStore.seen[key] = out
	return out
}
