package peer

import (
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	_ "image/png" // what rsvg-convert writes
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// Every panel's drawing renders at the size that it states, shows something on white paper, and names its stations.
func TestPanelSVG(t *testing.T) {
	need(t, "rsvg-convert")
	eachPack(t, func(t *testing.T, p pack) {
		for _, panel := range p.plan.Panels {
			var ids []string
			for _, s := range panel.Stations {
				ids = append(ids, s.ID)
			}
			say(t, checkSVG(filepath.Join(p.dir, "panel-"+panel.ID+".svg"), t.TempDir(), panel.Name, ids))
		}
	})
}

// An empty drawing, one of another name, and one that lacks a station are found out.
func TestPanelSVGSeesDamage(t *testing.T) {
	need(t, "rsvg-convert")
	for name, body := range map[string]string{
		"empty":   `<title>Lid</title><text fill="none">1</text>`,
		"name":    `<title>Hatch</title><path d="M2 2H90V40H2Z" fill="none" stroke="#000"/><text>1</text>`,
		"station": `<title>Lid</title><path d="M2 2H90V40H2Z" fill="none" stroke="#000"/><text>2</text>`,
		"size":    `<title>Lid</title><path d="M2 2H90V40H2Z" fill="none" stroke="#000"/><text>1</text>`,
	} {
		height := "50mm"
		if name == "size" {
			height = "50"
		}
		file := filepath.Join(t.TempDir(), "panel.svg")
		text := `<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="` + height + `" viewBox="0 0 100 50">` + body + `</svg>`
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if found := checkSVG(file, t.TempDir(), "Lid", []string{"1"}); len(found) != 1 {
			t.Errorf("%s: found %q, want one", name, found)
		}
	}
}

var inMM = regexp.MustCompile(`^(\d+(?:\.\d+)?)mm$`)

// checkSVG renders a drawing at 4 pixels to the mm and looks at the picture.
func checkSVG(file, tmp, name string, stations []string) (found []string) {
	add := func(format string, args ...any) {
		found = append(found, filepath.Base(file)+": "+fmt.Sprintf(format, args...))
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return []string{err.Error()}
	}
	var svg struct {
		Width  string   `xml:"width,attr"`
		Height string   `xml:"height,attr"`
		Title  string   `xml:"title"`
		Groups []nested `xml:",any"`
	}
	if err := xml.Unmarshal(text, &svg); err != nil {
		add("%v", err)
		return found
	}
	w, h := inMM.FindStringSubmatch(svg.Width), inMM.FindStringSubmatch(svg.Height)
	if w == nil || h == nil {
		add("is %q × %q, want mm", svg.Width, svg.Height)
		return found
	}
	const perMM = 4
	dpi := fmt.Sprint(perMM * 25.4)
	if _, err := runIn(tmp, "rsvg-convert", "-d", dpi, "-p", dpi, "-o", "panel.png", file); err != nil {
		add("%v", err)
		return found
	}
	pic, err := readPNG(filepath.Join(tmp, "panel.png"))
	if err != nil {
		add("%v", err)
		return found
	}
	for i, s := range []string{w[1], h[1]} {
		mm, err := strconv.ParseFloat(s, 64)
		px := []int{pic.Bounds().Dx(), pic.Bounds().Dy()}[i]
		if err != nil || math.Abs(mm*perMM-float64(px)) > 1 {
			add("%s mm render as %d pixels, want %d a mm", s, px, perMM)
		}
	}
	// Lines and letters on paper: between a part in 500 and a third is ink.
	if ink := inkOf(pic); ink < 0.002 || ink > 0.33 {
		add("%.2f %% of it is ink", 100*ink)
	}
	if svg.Title != name {
		add("its title is %q, the panel %q", svg.Title, name)
	}
	words := map[string]bool{}
	for _, g := range svg.Groups {
		g.words(words)
	}
	for _, id := range stations {
		if !words[id] {
			add("station %s is not named", id)
		}
	}
	return found
}

// nested is any element with what is in it.
type nested struct {
	Text string   `xml:",chardata"`
	In   []nested `xml:",any"`
}

func (n nested) words(into map[string]bool) {
	into[n.Text] = true
	for _, c := range n.In {
		c.words(into)
	}
}

func readPNG(file string) (image.Image, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	pic, _, err := image.Decode(f)
	return pic, err
}

// inkOf is the share of pixels that are darker than half, laid on white.
func inkOf(pic image.Image) float64 {
	b, dark := pic.Bounds(), 0
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			c := color.NRGBAModel.Convert(pic.At(x, y)).(color.NRGBA)
			grey := (int(c.R) + int(c.G) + int(c.B)) / 3
			if 255-(255-grey)*int(c.A)/255 < 128 {
				dark++
			}
		}
	}
	return float64(dark) / float64(b.Dx()*b.Dy())
}
