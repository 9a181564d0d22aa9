package sheet

import (
	_ "embed" // the faces are part of the program, so that a page looks alike on every machine
	"fmt"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

//go:embed font/DejaVuSansCondensed.ttf
var regularTTF []byte

//go:embed font/DejaVuSansCondensed-Bold.ttf
var boldTTF []byte

// descender is how far the deepest letters (g, p) reach below the base line, over the Size: 483 of 2048 font units.
const descender = 483.0 / 2048

// MissingGlyph says that a text holds a rune that the embedded face cannot draw. Line breaks and tabs count as such: a Text
// is one line, see Wrap.
type MissingGlyph struct {
	Sheet string // title of the sheet, where it has one
	Text  string
	Rune  rune
	Font  Font
}

// Error names the rune, its code point and the text.
func (e *MissingGlyph) Error() string {
	face := "regular"
	if e.Font == Bold {
		face = "bold"
	}
	on := ""
	if e.Sheet != "" {
		on = fmt.Sprintf(" on sheet %q", e.Sheet)
	}
	return fmt.Sprintf("the %s face has no letter for %q (%U), in text %q%s; write it in other letters", face, e.Rune, e.Rune, e.Text, on)
}

// face holds what is measured of one embedded font.
type face struct {
	advance map[rune]int // in 1/1000 of the Size, rounded as the PDF states them
	notdef  int
}

// lastRune bounds the search for glyphs: the fonts hold none above the dingbats.
const lastRune = 0x27FF

var loadFaces = sync.OnceValue(func() [2]face {
	return [2]face{loadFace(regularTTF), loadFace(boldTTF)}
})

func loadFace(ttf []byte) face {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("sheet: embedded font: " + err.Error())
	}
	var buf sfnt.Buffer
	upem := float64(f.UnitsPerEm())
	advance := func(i sfnt.GlyphIndex) int {
		// At a size of one em in font units, the advance comes out in font units, times 64 as fixed point.
		a, err := f.GlyphAdvance(&buf, i, fixed.I(int(f.UnitsPerEm())), font.HintingNone)
		if err != nil {
			panic("sheet: embedded font: " + err.Error())
		}
		return int(math.Round(float64(a) / 64 / upem * 1000))
	}
	out := face{advance: map[rune]int{}, notdef: advance(0)}
	for r := rune(' '); r <= lastRune; r++ {
		i, err := f.GlyphIndex(&buf, r)
		if err != nil {
			panic("sheet: embedded font: " + err.Error())
		}
		if i != 0 {
			out.advance[r] = advance(i)
		}
	}
	return out
}

func (f Font) face() face {
	if f != Regular && f != Bold {
		panic("sheet: no such font")
	}
	return loadFaces()[f]
}

// Has says whether the face can draw r.
func (f Font) Has(r rune) bool {
	_, ok := f.face().advance[r]
	return ok
}

// TextWidth returns the width of s in mm at the Size given, as the PDF sets it: the sum of the advances of its letters,
// without kerning. A rune that the face lacks counts as wide as the face's blank box.
func TextWidth(s string, size float64, f Font) float64 {
	fc, sum := f.face(), 0
	for _, r := range s {
		a, ok := fc.advance[r]
		if !ok {
			a = fc.notdef
		}
		sum += a
	}
	return float64(sum) / 1000 * size
}

// checkText returns a *MissingGlyph for the first rune that the face lacks.
func checkText(t Text, title string) error {
	fc := t.Font.face()
	for _, r := range t.S {
		if _, ok := fc.advance[r]; !ok {
			return &MissingGlyph{Sheet: title, Text: t.S, Rune: r, Font: t.Font}
		}
	}
	return nil
}
