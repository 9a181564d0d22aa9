package sheet

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"panelwright/internal/plane"
)

// svgFamily names the embedded face first; sans-serif is what a machine without it has, and is not much wider.
const svgFamily = "'DejaVu Sans Condensed', 'Liberation Sans', sans-serif"

// WriteSVG writes the sheet as an SVG file of its own, in mm: width and height are physical and a user unit is 1 mm. Marks
// stand in the sheet's order; neighbours of one layer share a group, whose id is the layer's name (a layer that comes again
// gets -2, -3, …) and whose class is the name alone. Numbers are rounded to 0.001 mm. Text stays text.
//
// It fails with *MissingGlyph, *BadMark, or the error of w; but for the last, nothing has been written then.
func WriteSVG(w io.Writer, s Sheet) error {
	body, err := svgBody(s, "")
	if err != nil {
		return err
	}
	head := fmt.Sprintf("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" %s>\n<title>%s</title>\n",
		svgSize(s), escape(s.Title))
	_, err = io.WriteString(w, head+body+"</svg>\n")
	return err
}

// Fragment says how a drawing stands in a page of HTML.
type Fragment struct {
	ID    string // letters, digits, hyphens; unique in the page: heads every id inside. Required.
	Label string // what the picture shows, for those who do not see it; empty: the sheet's title
}

// SVGFragment writes the sheet as an <svg> element to stand in HTML, without XML header, as an image with a label. All ids
// in it begin with the fragment's. It fails as WriteSVG does; an ID of other letters is an error.
func SVGFragment(w io.Writer, s Sheet, fr Fragment) error {
	if fr.ID == "" || fr.ID != identifier(fr.ID) {
		return fmt.Errorf("sheet: fragment id %q: wanted letters, digits and hyphens, a letter first", fr.ID)
	}
	body, err := svgBody(s, fr.ID+"-")
	if err != nil {
		return err
	}
	label := fr.Label
	if label == "" {
		label = s.Title
	}
	head := fmt.Sprintf("<svg xmlns=\"http://www.w3.org/2000/svg\" id=\"%s\" %s role=\"img\" aria-label=\"%s\">\n", fr.ID, svgSize(s), escape(label))
	_, err = io.WriteString(w, head+body+"</svg>\n")
	return err
}

func svgSize(s Sheet) string {
	w, h := short(s.W, 3), short(s.H, 3)
	return fmt.Sprintf(`width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="%s"`, w, h, w, h, svgFamily)
}

// svgBody writes everything inside the <svg> element.
func svgBody(s Sheet, prefix string) (string, error) {
	marks, err := flatten(s)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	ids := idSet{prefix, map[string]bool{}, map[string]int{}}
	clipID := svgClips(&b, marks, ids)
	for i := 0; i < len(marks); {
		j := i
		for j < len(marks) && marks[j].layer == marks[i].layer {
			j++
		}
		svgLayer(&b, marks[i:j], ids.id(identifier(marks[i].layer)), clipID)
		i = j
	}
	return b.String(), nil
}

// idSet gives out the ids inside one drawing.
type idSet struct {
	prefix string
	taken  map[string]bool
	count  map[string]int // how often each name was asked for
}

// id returns name, or name-2, name-3, …: one that no other element has.
func (s idSet) id(name string) string {
	for {
		s.count[name]++
		id := name
		if n := s.count[name]; n > 1 {
			id = name + "-" + strconv.Itoa(n)
		}
		if !s.taken[id] {
			s.taken[id] = true
			return s.prefix + id
		}
	}
}

// identifier makes a name of letters, digits and hyphens that begins with a letter.
func identifier(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z':
			b.WriteRune(r)
		case (r >= '0' && r <= '9' || r == '-') && b.Len() > 0:
			b.WriteRune(r)
		case b.Len() > 0:
			b.WriteByte('-')
		}
	}
	if b.Len() == 0 {
		return "marks"
	}
	return b.String()
}

// svgClips defines the clip rectangles that the marks use, in order of first use.
func svgClips(b *strings.Builder, marks []mark, ids idSet) map[rect]string {
	out := map[rect]string{}
	for _, m := range marks {
		if !m.clipped || out[m.clip] != "" {
			continue
		}
		if len(out) == 0 {
			b.WriteString("<defs>\n")
		}
		id := ids.id("clip")
		out[m.clip] = id
		c := m.clip
		fmt.Fprintf(b, "<clipPath id=\"%s\"><rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/></clipPath>\n",
			id, short(c.x0, 3), short(c.y0, 3), short(c.x1-c.x0, 3), short(c.y1-c.y0, 3))
	}
	if len(out) > 0 {
		b.WriteString("</defs>\n")
	}
	return out
}

func svgLayer(b *strings.Builder, marks []mark, id string, clipID map[rect]string) {
	fmt.Fprintf(b, "<g id=\"%s\" class=\"%s\">\n", id, identifier(marks[0].layer))
	for i, m := range marks {
		if m.clipped && (i == 0 || !marks[i-1].clipped || marks[i-1].clip != m.clip) {
			fmt.Fprintf(b, "<g clip-path=\"url(#%s)\">\n", clipID[m.clip])
		}
		switch it := m.item.(type) {
		case Stroke:
			svgStroke(b, it)
		case Circle:
			if it.R > 0 && (it.Pen != nil || it.Fill != nil) {
				fmt.Fprintf(b, "<circle cx=\"%s\" cy=\"%s\" r=\"%s\"%s/>\n", short(it.At.X, 3), short(it.At.Y, 3), short(it.R, 3), svgPaint(it.Pen, it.Fill))
			}
		case Text:
			svgText(b, it)
		}
		if m.clipped && (i+1 == len(marks) || !marks[i+1].clipped || marks[i+1].clip != m.clip) {
			b.WriteString("</g>\n")
		}
	}
	b.WriteString("</g>\n")
}

func svgPaint(pen *Pen, fill *Tone) string {
	out := ` fill="none"`
	if fill != nil {
		out = fmt.Sprintf(` fill="%s" fill-rule="evenodd"`, hex(*fill))
	}
	if pen == nil {
		return out
	}
	out += fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, hex(pen.Tone), short(pen.Width, 3))
	if len(pen.Dash) > 0 {
		d := make([]string, len(pen.Dash))
		for i, x := range pen.Dash {
			d[i] = short(x, 3)
		}
		out += ` stroke-dasharray="` + strings.Join(d, " ") + `"`
	}
	return out
}

func hex(t Tone) string { return fmt.Sprintf("#%02x%02x%02x", t.R, t.G, t.B) }

func svgStroke(b *strings.Builder, s Stroke) {
	if len(s.Path.V) < 2 || s.Pen == nil && s.Fill == nil {
		return
	}
	fmt.Fprintf(b, "<path d=\"%s\"%s/>\n", svgPath(s.Path), svgPaint(s.Pen, s.Fill))
}

// svgPath writes a path in absolute coordinates, arcs as arcs. SVG's angles run from +x to +y, as bulges on the page do.
func svgPath(p plane.Path) string {
	var b strings.Builder
	pt := func(q plane.Point) string { return short(q.X, 3) + " " + short(q.Y, 3) }
	b.WriteString("M" + pt(p.V[0].Point))
	for i, g := range p.Segs() {
		if !g.IsArc() {
			if !(p.Closed && i == len(p.V)-1) { // Z draws it
				b.WriteString("L" + pt(g.B))
			}
			continue
		}
		sweep := 0
		if g.Bulge > 0 {
			sweep = 1
		}
		r := short(g.Radius(), 3)
		if math.Abs(g.Bulge) >= 1 { // in halves: ends that nearly meet, once rounded, do not tell where a circle stands
			fmt.Fprintf(&b, "A%s %s 0 0 %d %s", r, r, sweep, pt(g.At(0.5)))
		}
		fmt.Fprintf(&b, "A%s %s 0 0 %d %s", r, r, sweep, pt(g.B))
	}
	if p.Closed {
		b.WriteString("Z")
	}
	return b.String()
}

func svgText(b *strings.Builder, t Text) {
	if t.S == "" {
		return
	}
	if t.Halo {
		svgStroke(b, halo(t))
	}
	x, y := short(t.At.X, 3), short(t.At.Y, 3)
	fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s"`, x, y, short(t.Size, 3))
	if a := [...]string{Left: "", Centre: "middle", Right: "end"}[t.Align]; a != "" {
		fmt.Fprintf(b, ` text-anchor="%s"`, a)
	}
	if t.Font == Bold {
		b.WriteString(` font-weight="bold"`)
	}
	if t.Tone != Black {
		fmt.Fprintf(b, ` fill="%s"`, hex(t.Tone))
	}
	if t.Turn != 0 {
		fmt.Fprintf(b, ` transform="rotate(%s %s %s)"`, short(-t.Turn*180/math.Pi, 3), x, y)
	}
	if strings.Contains(t.S, "  ") || strings.TrimSpace(t.S) != t.S {
		b.WriteString(` xml:space="preserve"`)
	}
	fmt.Fprintf(b, ">%s</text>\n", escape(t.S))
}

// xmlEscape escapes for text and for attributes in double quotes.
var xmlEscape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;", "'", "&#39;")

// escape makes s safe in XML; runes that XML 1.0 cannot hold become U+FFFD. Only titles and labels can have any, since the
// faces have no letters for them.
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xFFFE || r == 0xFFFF {
			return 0xFFFD
		}
		return r
	}, s)
	return xmlEscape.Replace(s)
}
