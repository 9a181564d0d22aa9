// Package sheet is a page in millimetres: a display list of lines, arcs, text and hatches, written as PDF or SVG.
//
// The origin is the top left corner of the page, x to the right, y downwards, as on paper. A drawing that lives in panel
// coordinates (y upwards) maps its points through a View first.
//
// Everything on a sheet is an Item. WritePDF and WriteSVG draw the same items alike: hatches become plain lines and clips
// become plain rectangles before either writer sees them. The marks of a workshop drawing (Dimension, Leader, CheckScale,
// Table, …) return items, so a drawing is built by appending.
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

// Tone is a colour, black when zero. Everything must read in black and white: tone never carries a meaning alone.
type Tone struct{ R, G, B uint8 }

// Grey returns the grey of the level given, 0 black to 255 white.
func Grey(level uint8) Tone { return Tone{level, level, level} }

// Pen draws strokes. Width in mm, above zero. Dash is on, off, on, … in mm; nil is a full line. Ends are cut square at the
// end points, so that a line is as long as it is drawn; corners are round.
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

// Stroke is a path drawn with a pen; with Fill it is filled first, as if closed. Layer names a group for SVG and later DXF.
//
// The path stands in page coordinates. A bulge means there what it means in package plane by the same formulas, but with
// y downwards: positive turns from +x towards +y, which a reader of the page sees as clockwise. View.Path does this.
type Stroke struct {
	Path  plane.Path
	Pen   *Pen  // nil: no stroke
	Fill  *Tone // nil: no fill
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

// Text is one line of text; At is on the base line. Size is the typographer's size, the em, in mm: a capital letter is
// CapHeight·Size high. Use the named sizes (Letters25, …) to ask for a height of letters. Turn is in rad, anticlockwise as
// seen on the page.
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

// Hatch fills a closed region, in page coordinates, with parallel lines (ISO 128 habit); Cross adds a second set at right
// angles. Lines of one angle and pitch are in step over the whole page, so that parts of one body that are drawn one by
// one still match.
type Hatch struct {
	Region plane.Region
	Angle  float64 // rad, anticlockwise as seen on the page
	Pitch  float64 // mm, at least PitchMin
	Pen    Pen
	Cross  bool
	Layer  string
}

// Clip limits Items to a rectangle on the page. Clips may stand in clips.
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
	Scale  float64     // page mm per panel mm, above zero
	Mirror bool        // x reversed, for marking from behind
}
