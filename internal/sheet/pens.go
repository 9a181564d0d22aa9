package sheet

// Pens by what they draw, after the habit of ISO 128: two widths in the ratio 2 : 1, and a finer one for hatching (common
// practice, from memory). Read only: copy one to change it.
var (
	Outline = Pen{Width: 0.5}                                   // visible edges
	Thin    = Pen{Width: 0.25}                                  // dimensions, leaders, table rules
	Fine    = Pen{Width: 0.18}                                  // hatching
	Hidden  = Pen{Width: 0.25, Dash: []float64{3, 1.5}}         // edges behind
	Chain   = Pen{Width: 0.25, Dash: []float64{6, 1.5, 1, 1.5}} // centre and rivet lines
	Cut     = Pen{Width: 0.25, Dash: []float64{1.5, 1.5}}       // where paper is cut or overlapped
)

// Tones that survive a black and white printer.
var (
	Black = Tone{}
	White = Grey(255)
	Shade = Grey(232) // behind table heads
)

// CapHeight is the height of a capital letter over the text's Size, by the embedded faces (1493 of 2048 font units).
const CapHeight = 1493.0 / 2048

// Sizes of text by the height of their capitals, mm, from the series of ISO 3098 (from memory). Letters25 is the least
// that we print where somebody reads at arm's length; Letters18 is for foot lines only.
const (
	Letters18 = 1.8 / CapHeight
	Letters25 = 2.5 / CapHeight
	Letters35 = 3.5 / CapHeight
	Letters50 = 5.0 / CapHeight
	Letters70 = 7.0 / CapHeight
)

// Layers that the marks of this package use, and that drawings should share.
const (
	LayerOutline   = "outline"
	LayerHidden    = "hidden"
	LayerHatch     = "hatch"
	LayerCentre    = "centre"
	LayerDimension = "dimension"
	LayerText      = "text"
	LayerTable     = "table"
	LayerScale     = "scale"
	LayerRegister  = "register"
)
