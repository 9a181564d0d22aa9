package solid

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// WriteSTL writes the shell as binary STL, in mm: a head of 80 bytes, the count, then for each triangle its normal and corners as
// 32-bit floats. It refuses what Check refuses.
func (s *Shell) WriteSTL(w io.Writer) error {
	if err := s.gate(); err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	head := make([]byte, 80)
	copy(head, plain(s.Name)+", mm") // must not begin with "solid", which marks the text form
	b.Write(head)
	var word [4]byte
	put := func(v float64) {
		binary.LittleEndian.PutUint32(word[:], math.Float32bits(float32(v)))
		b.Write(word[:])
	}
	binary.LittleEndian.PutUint32(word[:], uint32(len(s.Tris)))
	b.Write(word[:])
	rounded := &Shell{At: make([][3]float64, len(s.At))} // normals are those of the corners as written: slivers turn by rounding
	for i, p := range s.At {
		for k, v := range p {
			rounded.At[i][k] = float64(float32(v))
		}
	}
	for _, t := range s.Tris {
		n := rounded.normal(t)
		l := math.Sqrt(n[0]*n[0] + n[1]*n[1] + n[2]*n[2])
		if l == 0 {
			l = 1 // rounded to nothing: a reader takes a normal of zeros as not given
		}
		for _, v := range n {
			put(v / l)
		}
		for _, i := range t {
			for _, v := range s.At[i] {
				put(v)
			}
		}
		b.Write([]byte{0, 0})
	}
	return b.Flush()
}

// plain keeps letters, figures and blanks of ASCII.
func plain(s string) string {
	s = strings.Map(func(r rune) rune {
		if r >= ' ' && r < 127 {
			return r
		}
		return '?'
	}, s)
	if strings.HasPrefix(strings.ToLower(s), "solid") {
		s = "part " + s
	}
	return s[:min(len(s), 70)]
}

// The parts of a 3MF package [3mf].
const (
	types3MF = `<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>
`
	rels3MF = `<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>
`
)

// Write3MF writes shells as one 3MF package, in mm, each an object with its name, laid side by side with 10 mm between them. It
// refuses what Check refuses.
func Write3MF(w io.Writer, title string, shells []*Shell) error {
	for _, s := range shells {
		if err := s.gate(); err != nil {
			return err
		}
	}
	z := zip.NewWriter(w)
	// Fast rather than small: a model is looked at once, and packs hold many.
	z.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, flate.BestSpeed) })
	for _, f := range []struct {
		name string
		put  func(io.Writer) error
	}{
		{"[Content_Types].xml", func(w io.Writer) error { _, err := io.WriteString(w, types3MF); return err }},
		{"_rels/.rels", func(w io.Writer) error { _, err := io.WriteString(w, rels3MF); return err }},
		{"3D/3dmodel.model", func(w io.Writer) error { return model3MF(w, title, shells) }},
	} {
		out, err := z.Create(f.name)
		if err != nil {
			return err
		}
		if err := f.put(out); err != nil {
			return err
		}
	}
	return z.Close()
}

func model3MF(w io.Writer, title string, shells []*Shell) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<model unit=\"millimeter\" xml:lang=\"en\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\">\n<metadata name=\"Title\">%s</metadata>\n<resources>\n", escape(title))
	for i, s := range shells {
		fmt.Fprintf(b, "<object id=\"%d\" type=\"model\" name=\"%s\"><mesh><vertices>\n", i+1, escape(s.Name))
		var line []byte
		for _, p := range s.At {
			line = append(line[:0], `<vertex x="`...)
			line = append(append(line, short(p[0])...), `" y="`...)
			line = append(append(line, short(p[1])...), `" z="`...)
			line = append(append(line, short(p[2])...), "\"/>\n"...)
			b.Write(line)
		}
		b.WriteString("</vertices><triangles>\n")
		for _, t := range s.Tris {
			line = append(line[:0], `<triangle v1="`...)
			line = append(strconv.AppendInt(line, int64(t[0]), 10), `" v2="`...)
			line = append(strconv.AppendInt(line, int64(t[1]), 10), `" v3="`...)
			line = append(strconv.AppendInt(line, int64(t[2]), 10), "\"/>\n"...)
			b.Write(line)
		}
		b.WriteString("</triangles></mesh></object>\n")
	}
	b.WriteString("</resources>\n<build>\n")
	x := 0.0
	for i, s := range shells {
		lo, hi := s.Bounds()
		fmt.Fprintf(b, "<item objectid=\"%d\" transform=\"1 0 0 0 1 0 0 0 1 %s %s %s\"/>\n", i+1, short(x-lo[0]), short(-lo[1]), short(-lo[2]))
		x += hi[0] - lo[0] + 10
	}
	b.WriteString("</build>\n</model>\n")
	return b.Flush()
}

// short writes a length to a millionth of a millimetre.
func short(v float64) string {
	s := strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 6, 64), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

var xmlEscape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&#34;")

func escape(s string) string {
	return xmlEscape.Replace(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xFFFE || r == 0xFFFF {
			return ' '
		}
		return r
	}, s))
}

// Join puts shells side by side along x, 10 mm apart, on z = 0, as one: parts on one bed.
func Join(name string, shells []*Shell) *Shell {
	out := &Shell{Name: name}
	x, proved := 0.0, true
	for _, s := range shells {
		lo, hi := s.Bounds()
		first := int32(len(out.At))
		for _, p := range s.At {
			out.At = append(out.At, [3]float64{p[0] - lo[0] + x, p[1] - lo[1], p[2] - lo[2]})
		}
		for _, t := range s.Tris {
			out.Tris = append(out.Tris, [3]int32{t[0] + first, t[1] + first, t[2] + first})
		}
		x += hi[0] - lo[0] + 10
		proved = proved && s.gate() == nil
	}
	if proved { // parts that are closed each, with room between them, are closed together
		out.proved = len(out.Tris) + len(out.At)
	}
	return out
}
