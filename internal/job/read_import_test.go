package job

import (
	"io/fs"
	"math"
	"strings"
	"testing"

	"panelwright/internal/plane"
)

const importJob = `job:
  name: Lid (sample)
  sample: true
  units: mm
  drills: any size
panels:
  - name: Lid
    outline: { OUTLINE }
    keep-outs:
      - { name: lamp, layer: LAMPS }
    outer: { material: grp_csm30, thickness: 2.5 ± 0.2 mm }
    inner: { material: al5754h22, thickness: 1.5 ± 0.05 mm }
    supports:
      - { name: flange, flange: [front, right, rear, left], width: 36 }
      - { name: bar, rib layer: "#0000ff", width: 30 }
`

const importSVG = `<svg width="700mm" height="500mm" viewBox="0 0 700 500"><g id="OUT">
<rect x="50" y="50" width="600" height="400" rx="40"/>
<circle cx="350" cy="350" r="25"/></g>
<g id="LAMPS"><circle cx="200" cy="150" r="30"/><circle cx="500" cy="150" r="30"/></g>
<line x1="120" y1="250" x2="580" y2="250" stroke="blue"/>
<text x="5" y="5">not an outline</text></svg>`

func readImport(t *testing.T, what string, files map[string]string) (*Job, string) {
	t.Helper()
	j, faults := Read("job.yaml", []byte(strings.Replace(importJob, "OUTLINE", what, 1)), func(name string) ([]byte, error) {
		if s, ok := files[name]; ok {
			return []byte(s), nil
		}
		return nil, fs.ErrNotExist
	})
	if len(faults) == 0 {
		faults = j.Check()
	}
	text := ""
	if len(faults) > 0 {
		text = faults.Error()
	}
	return j, text
}

// A rounded rectangle out of an SVG is what the job's own rectangle is: closed forms.
func TestImportedOutline(t *testing.T) {
	j, faults := readImport(t, "file: lid.svg, edges: [front, right, rear, left]", map[string]string{"lid.svg": importSVG})
	if faults != "" {
		t.Fatal(faults)
	}
	p := j.Panels[0]
	checkEdges(t, p)
	for i, e := range p.Edges {
		side := []float64{600, 400, 600, 400}[i]
		if want := side - 80 + math.Pi/2*40; math.Abs(e.To-e.From-want) > near || e.Name != []string{"front", "right", "rear", "left"}[i] {
			t.Errorf("edge %s is %g long, want %g", e.Name, e.To-e.From, want)
		}
	}
	if want := 600*400 - (4-math.Pi)*1600 - math.Pi*625; math.Abs(p.Outline.Area()-want) > 1e-6*want {
		t.Errorf("area %g, want %g", p.Outline.Area(), want)
	}
	// The front runs along the drawing's lower edge: y is turned upwards.
	if mid := p.Outline.Outer.At((p.Edges[0].From + p.Edges[0].To) / 2); mid.Dist(plane.Point{X: 350, Y: -450}) > near {
		t.Errorf("the middle of the front at %v", mid)
	}
	if len(p.KeepOuts) != 2 || p.KeepOuts[0].Name != "lamp 1" || p.KeepOuts[1].Name != "lamp 2" || len(p.CutOutNames) != 1 {
		t.Errorf("%d keep-outs, %v", len(p.KeepOuts), p.CutOutNames)
	}
	if s := p.Supports[1]; s.Kind != "rib" || s.Line.Length() != 460 {
		t.Errorf("%+v", s)
	}
	notes := strings.Join(j.ImportNotes(p), "\n")
	for _, want := range []string{"1 unit is 1 mm (the file's width and height)", "<text>", "left out"} {
		if !strings.Contains(notes, want) {
			t.Errorf("%q is not in: %s", want, notes)
		}
	}
	mirrored, faults := readImport(t, "file: lid.svg, mirrored: true, edges: [front, right, rear, left]", map[string]string{"lid.svg": importSVG})
	if faults != "" {
		t.Fatal(faults)
	}
	q := mirrored.Panels[0]
	checkEdges(t, q)
	if c := q.KeepOuts[0].Region.Bounds().Centre(); c.Dist(plane.Point{X: -200, Y: -150}) > near {
		t.Errorf("mirrored lamp at %v", c)
	}
}

func TestImportFaults(t *testing.T) {
	for _, c := range []struct{ what, text, want string }{
		{"file: lid.svg, edges: [a, b, c]", importSVG, "3 names for 4 sides"},
		{"file: lid.svg, edges: [a]", importSVG, "1 name for 4 sides"},
		{"file: lid.svg, corner radius: 20", importSVG, "round the corners in the drawing"},
		{"file: lid.png", importSVG, "accepted: a file that ends in .dxf, .svg, .csv or .txt"},
		{"file: ../lid.svg", importSVG, "copy the file beside the job"},
		{"rectangle: [600, 400], units: mm", importSVG, "units without file"},
		{"file: lid.svg", strings.Replace(importSVG, `id="LAMPS"`, `id="X"`, 1), "nothing on the layer or in the colour \"LAMPS\" of \"lid.svg\""},
		{"file: lid.svg", strings.Replace(importSVG, `width="600"`, `width="6e"`, 1), "lid.svg:2: panels[1].outline.file: <rect>: \"6e\" for width"},
		{"file: lid.svg, edges: [front, right, rear, left]", strings.Replace(importSVG, `cx="350"`, `cx="900"`, 1), "lid.svg:3: panels[1].outline.file: circle:"},
		{"rectangle: [600, 400], edges: [front, right, rear, left]", "", "whose outline is not out of a file"},
	} {
		if _, faults := readImport(t, c.what, map[string]string{"lid.svg": c.text, "lid.png": c.text}); !strings.Contains(faults, c.want) {
			t.Errorf("%s: %q does not say %q", c.what, faults, c.want)
		}
	}
}

// Corners are found where a fitter sees them, wherever the path begins and whatever it is made of.
func TestImportSides(t *testing.T) {
	round, err := plane.RoundedRectangle(600, 400, 40)
	if err != nil {
		t.Fatal(err)
	}
	many := plane.Polygon(round.Flatten(0.5)...) // a rounded corner as short lines
	for i, c := range []struct {
		path  plane.Path
		sides int
	}{
		{plane.Rectangle(600, 400), 4}, {round, 4}, {plane.CircleAt(plane.Point{}, 200), 1}, {plane.Trapezium(800, 500, 400, 0), 4},
		{plane.Polygon(plane.Point{}, plane.Point{X: 500}, plane.Point{X: 500, Y: 300}, plane.Point{X: 250, Y: 310}, plane.Point{Y: 300}), 4}, // 2·2.3° is no corner
		{many, 4},
	} {
		for k := range len(c.path.V) {
			p := plane.Path{V: append(append([]plane.Vertex{}, c.path.V[k:]...), c.path.V[:k]...), Closed: true}
			out, sides := importSides(p)
			if len(sides) != c.sides || math.Abs(out.Area()-p.Area()) > 1e-6*p.Area() || math.Abs(sides[len(sides)-1][1]-p.Length()) > 1e-6 {
				t.Errorf("shape %d from vertex %d: %d sides, want %d", i, k, len(sides), c.sides)
			}
			if k > 20 {
				break
			}
		}
	}
}
