// Package sheet is a page in millimetres: a display list of lines, arcs, text and hatches, written as PDF or SVG.
//
// The origin is the top left corner of the page, x to the right, y downwards, as on paper. A drawing that lives in panel
// coordinates (y upwards) maps its points through a View first.
package sheet

import "panelwright/internal/plane"

// Paper is a page size in mm, portrait.
type Paper struct {
	Name string
	W, H float64
}

// The papers that a job may name. ISO 216 and ASME Y14.1 sizes, from memory.
var (
	A4     = Paper{"A4", 210, 297}
	A3     = Paper{"A3", 297, 420}
	Letter = Paper{"Letter", 215.9, 279.4}
)

// Tone is a grey level, 0 black to 255 white, unless RGB is set. Everything must read in black and white: tone never
// carries a meaning alone.
type Tone struct{ R, G, B uint8 }

// Pen draws strokes. Width in mm. Dash is on, off, on, … in mm; nil is a full line.
type Pen struct {
	Width float64
	Dash  []float64
	Tone  Tone
}

// Align places text about its point.
type Align int

// Horizontal alignments.
const (
	Left Align = iota
	Centre
	Right
)

// Font is one of the embedded faces.
type Font int

// The faces.
const (
	Regular Font = iota
	Bold
)

// Item is one mark on a sheet.
type Item interface{ item() }

// Stroke is a path drawn with a pen; with Fill it is filled first. Layer names a group for SVG and later DXF.
type Stroke struct {
	Path  plane.Path // page coordinates; Bulge sign as in plane but with y downwards
	Pen   *Pen       // nil: no stroke
	Fill  *Tone      // nil: no fill
	Layer string
}

// Circle is a true circle.
type Circle struct {
	At    plane.Point
	R     float64
	Pen   *Pen
	Fill  *Tone
	Layer string
}

// Text is one line of text. Size is the cap-to-descender height in mm as typographers' size; Turn is in rad, anticlockwise
// on the page; At is on the base line.
type Text struct {
	At    plane.Point
	Size  float64
	S     string
	Font  Font
	Align Align
	Turn  float64
	Tone  Tone
	Halo  bool // a white band behind the letters, so that they read over lines
	Layer string
}

// Hatch fills a closed region with parallel lines (ISO 128 habit); Cross adds a second set at right angles.
type Hatch struct {
	Region plane.Region
	Angle  float64 // rad
	Pitch  float64 // mm
	Pen    Pen
	Cross  bool
	Layer  string
}

// Clip limits Items to a rectangle on the page.
type Clip struct {
	X, Y, W, H float64
	Items      []Item
}

func (Stroke) item() {}
func (Circle) item() {}
func (Text) item()   {}
func (Hatch) item()  {}
func (Clip) item()   {}

// Sheet is one page.
type Sheet struct {
	Title string // for outlines and SVG's <title>
	W, H  float64
	Items []Item
}

// Add appends marks.
func (s *Sheet) Add(items ...Item) { s.Items = append(s.Items, items...) }

// View maps panel coordinates (mm, y upwards) to the page: page = Origin + Scale·(x, −y), after an optional mirror.
type View struct {
	Origin plane.Point // where panel (0, 0) falls on the page
	Scale  float64     // page mm per panel mm
	Mirror bool        // x reversed, for marking from behind
}
