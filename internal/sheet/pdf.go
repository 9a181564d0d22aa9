package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"

	"panelwright/internal/plane"
)

// Info is what a PDF says about itself.
type Info struct {
	Title   string
	Subject string
	Date    string // YYYY-MM-DD, or empty: then the file carries no date at all
}

// perMM is points (1/72 in) per mm.
const perMM = 72 / 25.4

// arcTol is how far a Bézier curve may stand off the arc that it draws, mm.
const arcTol = 0.0005

// WritePDF writes the sheets as pages of one PDF, each of its own size. The same sheets and info give the same bytes on
// every machine: no clock, no random ids.
//
// Coordinates are written absolutely, in points with 4 decimals, so strokes and circles stand within 0.00002 mm of where
// the sheet has them from the page's top left corner, arcs within 0.0005 mm. The page itself is rounded to 0.01 pt
// (0.0018 mm), the size of text to 0.005 pt. The faces are embedded, as far as they are used, and the text can be searched
// and copied. The file asks viewers to print it unscaled (/PrintScaling /None), since a template is of no use otherwise.
//
// It fails with *MissingGlyph, *BadMark, a Date that is none, no sheets, or the error of w; but for the last, nothing has
// been written then.
func WritePDF(w io.Writer, sheets []Sheet, info Info) error {
	if len(sheets) == 0 {
		return errors.New("sheet: a PDF needs at least one page")
	}
	f := fpdf.New("P", "mm", "A4", "")
	f.SetAutoPageBreak(false, 0)
	f.SetMargins(0, 0, 0)
	f.SetCatalogSort(true)
	f.SetTitle(titleText(info.Title), true)
	f.SetSubject(titleText(info.Subject), true)
	f.SetCreator("panelwright", true)
	f.SetProducer("panelwright", true)
	f.SetLang("en")
	if err := setDate(f, info.Date); err != nil {
		return err
	}
	f.AddUTF8FontFromBytes(pdfFamily, "", regularTTF)
	f.AddUTF8FontFromBytes(pdfFamily, "B", boldTTF)
	for _, s := range sheets {
		marks, err := flatten(s)
		if err != nil {
			return err
		}
		writePage(f, s, marks, len(sheets) > 1)
	}
	var b bytes.Buffer
	if err := f.Output(&b); err != nil {
		return fmt.Errorf("sheet: PDF: %w", err)
	}
	out := finish(b.Bytes(), info.Date == "")
	_, err := w.Write(out)
	return err
}

const pdfFamily = "sheet"

// setDate sets both dates of the file to the day given. Without one, a fixed day holds the place until finish drops it.
func setDate(f *fpdf.Fpdf, date string) error {
	y, m, d := 2000, 1, 1
	if date != "" {
		if n, err := fmt.Sscanf(date, "%4d-%2d-%2d", &y, &m, &d); n != 3 || err != nil || len(date) != 10 ||
			y < 1 || m < 1 || m > 12 || d < 1 || d > 31 {
			return fmt.Errorf("sheet: date %q, wanted as 2031-05-17", date)
		}
	}
	// A fresh document's date is the zero instant, 1 January of year 1: counting on from it needs no clock.
	at := f.GetCreationDate().AddDate(y-1, m-1, d-1)
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	return nil
}

// titleText prepares a title for fpdf, which turns UTF-8 into UTF-16 two or three bytes at a time, without looking: bytes
// that are no UTF-8 become U+FFFD, and a rune beyond U+FFFF the three-byte form of each of its two surrogates.
func titleText(s string) string {
	var b strings.Builder
	for _, r := range s {
		hi, lo := utf16.EncodeRune(r)
		if hi == utf8.RuneError {
			b.WriteRune(r)
			continue
		}
		for _, u := range [2]rune{hi, lo} {
			b.Write([]byte{0xE0 | byte(u>>12), 0x80 | byte(u>>6&0x3F), 0x80 | byte(u&0x3F)})
		}
	}
	return b.String()
}

func writePage(f *fpdf.Fpdf, s Sheet, marks []mark, outline bool) {
	f.AddPageFormat("P", fpdf.SizeType{Wd: s.W, Ht: s.H})
	// The page box is written with two decimals; measuring from its rounded top keeps the top edge exact.
	p := page{f: f, h: s.H, top: math.Round(s.H*perMM*100) / 100}
	f.SetFont(pdfFamily, "", 10) // before Bookmark, which takes its encoding from the face in use
	if outline && s.Title != "" {
		f.Bookmark(titleText(s.Title), 0, 0)
	}
	f.RawWriteStr("0 J 1 j")
	for _, m := range marks {
		p.b.WriteString("q ")
		if m.clipped {
			c := m.clip
			p.op("re W n", c.x0*perMM, p.top-c.y1*perMM, (c.x1-c.x0)*perMM, (c.y1-c.y0)*perMM)
		}
		switch it := m.item.(type) {
		case Stroke:
			p.stroke(it)
		case Circle:
			p.circle(it)
		case Text:
			p.text(it)
		}
		p.b.WriteString("Q")
		p.flush()
	}
}

// page writes the content of one page. Strokes are written as PDF operators by ourselves, for their decimals and for true
// arcs; letters by fpdf, which knows which glyphs to embed.
type page struct {
	f   *fpdf.Fpdf
	h   float64 // mm
	top float64 // pt
	b   strings.Builder
}

func (p *page) flush() {
	p.f.RawWriteStr(p.b.String())
	p.b.Reset()
}

func (p *page) op(name string, args ...float64) {
	for _, a := range args {
		p.b.WriteString(short(a, 4))
		p.b.WriteByte(' ')
	}
	p.b.WriteString(name)
	p.b.WriteByte(' ')
}

func (p *page) at(name string, pts ...plane.Point) {
	args := make([]float64, 0, 6)
	for _, q := range pts {
		args = append(args, q.X*perMM, p.top-q.Y*perMM)
	}
	p.op(name, args...)
}

func (p *page) tone(name string, t Tone) {
	if t.R == t.G && t.G == t.B {
		p.op(map[string]string{"rg": "g", "RG": "G"}[name], float64(t.R)/255)
		return
	}
	p.op(name, float64(t.R)/255, float64(t.G)/255, float64(t.B)/255)
}

// paint sets pen and fill, draws the path that draw writes, and paints it.
func (p *page) paint(pen *Pen, fill *Tone, draw func()) {
	if pen == nil && fill == nil {
		return
	}
	if pen != nil {
		p.op("w", pen.Width*perMM)
		if len(pen.Dash) > 0 {
			p.b.WriteString("[ ")
			for _, d := range pen.Dash {
				p.b.WriteString(short(d*perMM, 4) + " ")
			}
			p.b.WriteString("] 0 d ")
		}
		p.tone("RG", pen.Tone)
	}
	if fill != nil {
		p.tone("rg", *fill)
	}
	draw()
	switch {
	case pen == nil:
		p.op("f*")
	case fill == nil:
		p.op("S")
	default:
		p.op("B*")
	}
}

func (p *page) stroke(s Stroke) {
	if len(s.Path.V) < 2 {
		return
	}
	p.paint(s.Pen, s.Fill, func() {
		p.at("m", s.Path.V[0].Point)
		for _, g := range s.Path.Segs() {
			if !g.IsArc() {
				p.at("l", g.B)
				continue
			}
			for _, c := range beziers(g) {
				p.at("c", c[0], c[1], c[2])
			}
		}
		if s.Path.Closed {
			p.op("h")
		}
	})
}

func (p *page) circle(c Circle) {
	if c.R == 0 {
		return
	}
	right, left := c.At.Add(plane.Point{X: c.R}), c.At.Sub(plane.Point{X: c.R})
	p.stroke(Stroke{Pen: c.Pen, Fill: c.Fill, Path: plane.Path{Closed: true, V: []plane.Vertex{{Point: right, Bulge: 1}, {Point: left, Bulge: 1}}}})
}

// beziers draws an arc by cubic curves: two control points and the end of each. A curve over the angle φ stands off the
// circle by at most 2/27·sin⁶(φ/4)/cos²(φ/4) of the radius (the cubic with control points at 4/3·tan(φ/4)), near enough
// φ⁶·R/55296: that gives the number of curves.
func beziers(g plane.Seg) [][3]plane.Point {
	sweep, radius := g.Sweep(), g.Radius()
	n := max(math.Ceil(math.Abs(sweep)/(math.Pi/2)), math.Ceil(math.Abs(sweep)*math.Pow(radius/(55296*arcTol), 1.0/6)))
	n = min(n, 64) // a sweep of a whole turn at 64 curves is within arcTol up to a radius of 30 m
	reach := 4.0 / 3 * math.Tan(math.Abs(sweep)/n/4) * radius
	out := make([][3]plane.Point, int(n))
	for i := range out {
		t0, t1 := float64(i)/n, float64(i+1)/n
		out[i] = [3]plane.Point{
			g.At(t0).Add(g.Tangent(t0).Scale(reach)),
			g.At(t1).Sub(g.Tangent(t1).Scale(reach)),
			g.At(t1),
		}
	}
	return out
}

func (p *page) text(t Text) {
	if t.S == "" {
		return
	}
	if t.Halo {
		p.stroke(halo(t))
	}
	p.tone("rg", t.Tone)
	style := ""
	if t.Font == Bold {
		style = "B"
	}
	w := TextWidth(t.S, t.Size, t.Font)
	shift := map[Align]float64{Left: 0, Centre: -w / 2, Right: -w}[t.Align]
	at := t.At.Add(plane.Point{X: shift}.Rotate(-t.Turn))
	sin, cos := math.Sincos(t.Turn)
	p.b.WriteString(short(cos, 8) + " " + short(sin, 8) + " " + short(-sin, 8) + " " + short(cos, 8) + " ")
	p.at("cm", at)
	p.flush()
	p.f.SetFont(pdfFamily, style, t.Size*perMM)
	p.f.Text(0, p.h, t.S) // the matrix above has moved the page's lower left corner to where the text begins
}

// halo is the white band behind a text.
func halo(t Text) Stroke {
	w, pad := TextWidth(t.S, t.Size, t.Font), 0.12*t.Size
	x0 := map[Align]float64{Left: 0, Centre: -w / 2, Right: -w}[t.Align] - pad
	x1, y0, y1 := x0+w+2*pad, -CapHeight*t.Size-pad, descender*0.5*t.Size+pad
	var v []plane.Point
	for _, c := range (rect{x0, y0, x1, y1}).corners() {
		v = append(v, t.At.Add(c.Rotate(-t.Turn)))
	}
	return Stroke{Path: plane.Polygon(v...), Fill: &Tone{255, 255, 255}, Layer: t.Layer}
}

// short writes x with at most the decimals given, without trailing zeros and without −0.
func short(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}
