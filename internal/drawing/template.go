package drawing

import (
	"fmt"
	"math"

	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/tile"
)

// TileInfo says what one page of the templates shows and where: View maps panel coordinates to that page at full size.
type TileInfo struct {
	Page   int // index of the page in Templates
	Panel  string
	Tile   tile.Tile
	View   sheet.View
	Window plane.Box // the drawing area on the page
}

// Margins of a template's page, mm: what no printer reaches, the column of the upright scale, the strip of texts.
const (
	templateMargin  = 8
	templateColumn  = 11
	templateStrip   = 30
	templateOverlap = 10
	templateBorder  = 11 // room for the texts outside a panel's edge
)

// Templates draws templates.pdf: for every panel an overview and its full-size pages, then the sections through every kind
// of station. It fails when the job names a paper that is none.
func Templates(p *setout.Plan) ([]sheet.Sheet, error) {
	sheets, _, err := TemplatePages(p)
	return sheets, err
}

// TemplatePages is Templates with the place of every full-size page.
func TemplatePages(p *setout.Plan) ([]sheet.Sheet, []TileInfo, error) {
	sheets, infos, err := templatePages(p, false)
	if err != nil {
		return nil, nil, err
	}
	sections, err := Sections(p)
	if err != nil {
		return nil, nil, err
	}
	return append(sheets, sections...), infos, nil
}

// TemplatesBehind draws templates-behind.pdf: the overviews and full-size pages of Templates as the back of the panels shows
// them, for marking from behind. The pages are the same parts of a panel under the same names. It fails as Templates does.
func TemplatesBehind(p *setout.Plan) ([]sheet.Sheet, error) {
	sheets, _, err := TemplatePagesBehind(p)
	return sheets, err
}

// TemplatePagesBehind is TemplatesBehind with the place of every full-size page.
func TemplatePagesBehind(p *setout.Plan) ([]sheet.Sheet, []TileInfo, error) {
	return templatePages(p, true)
}

func templatePages(p *setout.Plan, behind bool) ([]sheet.Sheet, []TileInfo, error) {
	paper, err := PaperOf(p.Job.Paper)
	if err != nil {
		return nil, nil, err
	}
	var sheets []sheet.Sheet
	var infos []TileInfo
	for _, panel := range p.Panels {
		grid, w, h := templateGrid(panel, paper)
		sheets = append(sheets, templateOverview(p, panel, &grid, paper, behind))
		for i, page := range grid.Tiles {
			t := templateTile{plan: p, panel: panel, grid: &grid, tile: page, window: page.Window, view: templateView(page, behind), behind: behind}
			t.sides = t.neighbours()
			t.draw()
			infos = append(infos, TileInfo{Page: len(sheets), Panel: panel.Job.ID, Tile: page, View: t.view,
				Window: viewPageBox(t.view, page.Window)})
			sheets = append(sheets, t.page(w, h, i))
		}
	}
	return sheets, infos, nil
}

// PaperOf finds a paper by name.
func PaperOf(name string) (sheet.Paper, error) {
	for _, p := range []sheet.Paper{sheet.A4, sheet.A3, sheet.Letter} {
		if p.Name == name {
			return p, nil
		}
	}
	return sheet.Paper{}, fmt.Errorf("paper %q: A4, A3 and Letter are known", name)
}

// templateView places a tile's window on its page at full size.
func templateView(t tile.Tile, behind bool) sheet.View {
	const left = templateMargin + templateColumn
	v := sheet.View{Origin: plane.Point{X: left - t.Window.Min.X, Y: templateMargin + t.Window.Max.Y}, Scale: 1, Mirror: behind}
	if behind {
		v.Origin.X = left + t.Window.Max.X
	}
	return v
}

// templateGrid cuts a panel into pages, upright or across, whichever takes fewer; upright when it is the same.
func templateGrid(p *setout.Panel, paper sheet.Paper) (g tile.Grid, w, h float64) {
	marks, spots := templateMarks(p)
	bounds := plane.EmptyBox()
	for _, m := range marks {
		bounds = bounds.Include(m[0]).Include(m[1])
	}
	bounds = bounds.Grow(templateBorder)
	for i, size := range [2][2]float64{{paper.W, paper.H}, {paper.H, paper.W}} {
		c := tile.Layout(bounds, marks, spots, tile.Frame{
			W:       size[0] - 2*templateMargin - templateColumn,
			H:       size[1] - 2*templateMargin - templateStrip,
			Overlap: templateOverlap,
		})
		if i == 0 || len(c.Tiles) < len(g.Tiles) {
			g, w, h = c, size[0], size[1]
		}
	}
	return g, w, h
}

// templateMarks lists every line that a template of the panel draws, and the centres of its holes.
func templateMarks(p *setout.Panel) (marks [][2]plane.Point, spots []plane.Point) {
	add := func(path plane.Path) {
		pts := path.Flatten(viewFlat)
		for i := 1; i < len(pts); i++ {
			marks = append(marks, [2]plane.Point{pts[i-1], pts[i]})
		}
		if n := len(pts); path.Closed && n > 1 {
			marks = append(marks, [2]plane.Point{pts[n-1], pts[0]})
		}
	}
	add(p.Job.Outline.Outer)
	for _, c := range p.Job.Outline.CutOuts {
		add(c)
	}
	panel := p.Job.Outline.Outer.Bounds()
	for _, k := range p.Job.KeepOuts {
		add(templateOnPanel(k.Region, panel))
	}
	for _, s := range p.SeatLines {
		add(s.Path)
	}
	for _, e := range p.Job.Edges {
		r := tapeRunOf(p.Job, e)
		marks = append(marks, r.prolonged()...)
	}
	for _, c := range templateCentres(p) {
		// A square around the hole, so that none of it falls on a page that is left out.
		b := plane.Box{Min: c.at, Max: c.at}.Grow(c.r + 2.5)
		add(plane.Polygon(b.Min, plane.Point{X: b.Max.X, Y: b.Min.Y}, b.Max, plane.Point{X: b.Min.X, Y: b.Max.Y}))
		spots = append(spots, c.at)
	}
	return marks, spots
}

// templateSeen is what two boxes share; empty when nothing.
func templateSeen(a, b plane.Box) plane.Box {
	return plane.Box{
		Min: plane.Point{X: max(a.Min.X, b.Min.X), Y: max(a.Min.Y, b.Min.Y)},
		Max: plane.Point{X: min(a.Max.X, b.Max.X), Y: min(a.Max.Y, b.Max.Y)},
	}
}

// templateOnPanel is what of a closed path lies in the box around the panel, cut side by side (Sutherland and Hodgman); one
// that lies there whole keeps its arcs.
func templateOnPanel(p plane.Path, box plane.Box) plane.Path {
	if b := p.Bounds(); box.Has(b.Min) && box.Has(b.Max) {
		return p
	}
	pts := p.Flatten(viewFlat)
	for _, side := range [4]struct {
		in   plane.Point // inward direction
		from float64
	}{{At(1, 0), box.Min.X}, {At(-1, 0), -box.Max.X}, {At(0, 1), box.Min.Y}, {At(0, -1), -box.Max.Y}} {
		var kept []plane.Point
		for i, b := range pts {
			a := pts[(i+len(pts)-1)%len(pts)]
			da, db := a.Dot(side.in)-side.from, b.Dot(side.in)-side.from
			if da < 0 != (db < 0) {
				kept = append(kept, a.Lerp(b, da/(da-db)))
			}
			if db >= 0 {
				kept = append(kept, b)
			}
		}
		pts = kept
	}
	if len(pts) < 3 {
		return plane.Polygon()
	}
	return plane.Polygon(pts...)
}

// page puts the drawn tile on its paper, with the scales and the strip of texts.
func (t *templateTile) page(w, h float64, index int) sheet.Sheet {
	name := t.panel.Job.Name
	s := sheet.Sheet{Title: fmt.Sprintf("%s %s", name, t.tile.Name), W: w, H: h}
	win := viewPageBox(t.view, t.tile.Window)
	s.Add(sheet.Clip{X: win.Min.X, Y: win.Min.Y, W: win.Width(), H: win.Height(), Items: t.ink.Items})
	frame := sheet.Thin
	s.Add(sheet.Rectangle(win.Min.X, win.Min.Y, win.Width(), win.Height(), &frame, nil, sheet.LayerTable))
	upright := templateMargin + 9.5
	if t.plan.Job.Inch {
		upright -= InchOff // both beside each other
		s.Add(InchScale(upright, templateMargin+6, false)...)
	}
	s.Add(sheet.CheckScale(upright, templateMargin+6, 100, false)...)

	var c Canvas
	top := win.Max.Y
	left, right := float64(templateMargin), w-templateMargin
	mapW := 40.0
	textW := right - mapW - 4 - left
	title, size := sheet.FitText(name, textW-sheet.TextWidth(t.tile.Name, sheet.Letters50, sheet.Bold)-6, sheet.Letters50, sheet.Letters35, sheet.Bold)
	c.Bold(left, top+6.6, size, sheet.Left, title)
	c.Bold(left+textW, top+6.6, sheet.Letters50, sheet.Right, t.tile.Name)
	x := left
	if t.behind {
		x = c.mirrored(left, top+11.4)
	}
	c.Write(x, top+11.4, sheet.Letters25, sheet.Left, t.where(index))
	job, jobSize := sheet.FitText(JobWords(t.plan.Job), 104, sheet.Letters25, sheet.Letters18, sheet.Regular)
	c.Write(left, top+16.4, jobSize, sheet.Left, job)
	s.Add(sheet.CheckScale(left+2, top+27.5, 100, true)...)
	if t.plan.Job.Inch {
		s.Add(InchScale(left+2, top+27.5, true)...)
	}
	s.Add(c.Items...)
	s.Add(t.legend(left+115, top+15, right-mapW-4)...)
	s.Add(t.miniMap(plane.Box{Min: At(right-mapW, top+1.5), Max: At(right, top+templateStrip)})...)
	return s
}

// InchOff is how far the line of the scale in inches stands beside that in millimetres: either can be measured by itself, mm.
const InchOff = 1.5

// InchScale is a check scale of 4 in, ticked at every inch, beside the scale of 100 mm from (x, y) on its free side.
func InchScale(x, y float64, across bool) []sheet.Item {
	const inch, count = 25.4, 4
	at, turn := func(u, v float64) plane.Point { return At(x-v, y+u) }, math.Pi/2
	if across {
		at, turn = func(u, v float64) plane.Point { return At(x+u, y-v) }, 0
	}
	const tick, label = -InchOff - 0.9, 5.5
	out := []sheet.Item{sheet.Line(at(0, -InchOff), at(count*inch, -InchOff), &sheet.Thin, sheet.LayerScale)}
	for k := range count + 1 {
		out = append(out, sheet.Line(at(float64(k)*inch, -InchOff), at(float64(k)*inch, tick), &sheet.Thin, sheet.LayerScale))
	}
	return append(out, sheet.Text{At: at(count*inch+label, tick), Size: sheet.Letters25, S: "4 in", Align: sheet.Centre, Turn: turn, Layer: sheet.LayerScale})
}

// where tells the place of the page among the others.
func (t *templateTile) where(index int) string {
	n := len(t.grid.Tiles)
	from := ""
	if t.behind {
		from = " from the right"
	}
	s := fmt.Sprintf("row %s, column %d%s · sheet %d of %d", tile.RowName(t.tile.Row), t.tile.Col+1, from, index+1, n)
	if q := t.panel.Job.Quantity; q > 1 {
		s += fmt.Sprintf(" · for %d panels", q)
	}
	if t.behind {
		return s // both scales say it
	}
	return s + " · print at 100 %, measure both scales"
}

// mirrored says on black, from x on, that a print is seen from behind. It returns where the line may go on.
func (c *Canvas) mirrored(x, y float64) float64 {
	const words, size = "MIRRORED: for marking from behind", sheet.Letters25
	w := sheet.TextWidth(words, size, sheet.Bold) + 3
	c.Add(sheet.Rectangle(x, y-size*viewAscent-0.5, w, size*(viewAscent+viewDescent)+0.7, nil, &sheet.Black, sheet.LayerTable))
	c.text(sheet.Text{At: At(x+1.5, y), Size: size, S: words, Font: sheet.Bold, Tone: sheet.White})
	return x + w + 2
}

// legend explains the lines, as many as have room.
func (t *templateTile) legend(x, y, right float64) []sheet.Item {
	var c Canvas
	full, dashed := "hole, outer", "hole behind"
	if t.behind {
		full, dashed = "hole, inner", "hole, outer"
	}
	for _, l := range []struct {
		pen  sheet.Pen
		text string
	}{
		{sheet.Pen{Width: 0.35}, full},
		{viewFree, dashed},
		{sheet.Chain, "seat line"},
		{viewPart, "foot, plate"},
	} {
		if x+11+sheet.TextWidth(l.text, sheet.Letters25, sheet.Regular) > right+1 {
			continue
		}
		c.Line(At(x, y-1.2), At(x+9, y-1.2), l.pen, sheet.LayerTable)
		c.Write(x+10.5, y, sheet.Letters25, sheet.Left, l.text)
		y += 4.2
	}
	if n := len(t.bare); n > 0 {
		c.Write(x, y, sheet.Letters25, sheet.Left, fmt.Sprintf("%d without text", n))
	}
	return c.Items
}

// miniMap shows which part of the panel the page is.
func (t *templateTile) miniMap(room plane.Box) []sheet.Item {
	var c Canvas
	templateMap(&c, t.panel, t.grid, room, t.tile.Name, t.behind)
	return c.Items
}

// templateMap draws the outline and the printed tiles into room; the tile named here is filled, and the others carry their
// names when here is empty. It returns the view.
func templateMap(c *Canvas, p *setout.Panel, g *tile.Grid, room plane.Box, here string, behind bool) sheet.View {
	b := g.Bounds
	scale := min(room.Width()/b.Width(), room.Height()/b.Height())
	mid := room.Centre()
	v := sheet.View{Scale: scale, Origin: plane.Point{X: mid.X - scale*b.Centre().X, Y: mid.Y + scale*b.Centre().Y}, Mirror: behind}
	if behind {
		v.Origin.X = mid.X + scale*b.Centre().X
	}
	pen := sheet.Fine
	for _, t := range g.Tiles {
		box := viewPageBox(v, t.Cell)
		fill := sheet.White
		if t.Name == here {
			fill = sheet.Grey(170)
		}
		c.Add(sheet.Rectangle(box.Min.X, box.Min.Y, box.Width(), box.Height(), &pen, &fill, sheet.LayerTable))
	}
	for _, path := range append([]plane.Path{p.Job.Outline.Outer}, p.Job.Outline.CutOuts...) {
		c.path(v.Path(path), sheet.Outline, sheet.LayerOutline)
		c.place.takePath(v.Path(path), costOutline)
	}
	if here != "" {
		return v
	}
	for _, t := range g.Tiles {
		cell := viewPageBox(v, t.Cell)
		size := sheet.Letters35
		if 3*sheet.TextWidth(t.Name, size, sheet.Bold) > cell.Width() {
			size = sheet.Letters25
		}
		text := sheet.Text{Size: size, S: t.Name, Font: sheet.Bold, Align: sheet.Centre, Halo: true} // the outline may cross
		var middles []plane.Point
		for _, k := range []plane.Point{{X: 0.5, Y: 0.5}, {X: 0.5, Y: 0.3}, {X: 0.5, Y: 0.7}, {X: 0.35, Y: 0.5}, {X: 0.65, Y: 0.5}, {X: 0.26, Y: 0.5}, {X: 0.74, Y: 0.5},
			{X: 0.3, Y: 0.3}, {X: 0.7, Y: 0.3}, {X: 0.3, Y: 0.7}, {X: 0.7, Y: 0.7}} {
			middles = append(middles, At(cell.Min.X+k.X*cell.Width(), cell.Min.Y+k.Y*cell.Height()))
		}
		c.label(text, middles)
	}
	return v
}
