package drawing

import (
	"fmt"
	"math"
	"strings"

	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/stock"
)

// sectionRow is one part in the legend, and where its number points.
type sectionRow struct {
	name, id, size, work string
	at                   plane.Point
	points               bool
}

// sectionParts lists the parts of a section from the outside inwards.
func sectionParts(j *job.Job, p *setout.Panel, m *sectionModel) []sectionRow {
	c := m.c
	holes := templateHoleWork(p, m.st.ID)
	rows := []sectionRow{{name: c.Stud.Name, id: c.Stud.ID, points: true,
		size: "reach " + measure.MM(c.Stud.Reach.Nom) + ", shank Ø " + measure.Fixed(c.Stud.Shank.Nom, 2),
		at:   plane.Point{X: -c.Stud.HeadDiameter * 0.36, Y: m.headFace() - c.Stud.HeadHeight*0.2}}}
	if c.Stud.HeadHeight <= 0 {
		rows[0].at = plane.Point{X: -c.Stud.Shank.Nom * 0.3, Y: m.headFace() + 0.3}
	}
	plate := sectionRow{name: c.Plate.Name, id: c.Plate.ID}
	if d := c.Plate.SleeveDiameter; d > c.Stud.Shank.Nom { // a grommet shows as its sleeve
		plate.size = "sleeve Ø " + measure.Fixed(d, 2)
		plate.points, plate.at = true, plane.Point{X: -(d + c.Stud.Shank.Nom) / 4, Y: m.layers[0].y1 * 0.6}
	}
	if m.plate != nil {
		plate.size = "plate " + measure.MM(c.Plate.Thickness)
		plate.points = true
		plate.at = plane.Point{X: -c.Plate.Length/2 + 2, Y: (m.plate.y0 + m.plate.y1) / 2}
	}
	rows = append(rows, plate)
	rivet := func(part string, r *stock.Rivet) {
		if r == nil {
			return
		}
		row := sectionRow{name: r.Name, id: r.ID, size: "Ø " + measure.Fixed(r.Diameter, 2) + ", tail: none"}
		for _, v := range m.rivets {
			if v.joint.Part == part && v.x < 0 {
				row.points, row.at = true, sectionRivetPoint(v)
				row.size = "Ø " + measure.Fixed(r.Diameter, 2)
				row.work = sectionRivetWork(v.joint)
			}
		}
		rows = append(rows, row)
	}
	if c.Plate.Face == stock.PlateOutside {
		rivet("plate", c.PlateRivet)
	}
	stagger := 1.2
	for i, l := range m.layers {
		name := l.name
		row := sectionRow{name: name + " panel", size: Across(j, l.layer.Thickness.Nom), work: holes[l.name], points: true,
			at: plane.Point{X: -m.half + stagger, Y: (l.y0 + l.y1) / 2}}
		switch {
		case l.layer.Material == nil:
			row.name, row.id = name, "gap"
		default:
			row.id = l.layer.Material.Name
			if i > 0 && i < len(m.layers)-1 {
				row.name = name
			}
		}
		stagger += 0.9
		rows = append(rows, row)
		if i == 0 && c.Plate.Face == stock.PlateBehind {
			rivet("plate", c.PlateRivet)
		}
	}
	if c.Shim != nil && m.st.Shims > 0 {
		rows = append(rows, sectionRow{name: fmt.Sprintf("%s, %d", c.Shim.Name, m.st.Shims), id: c.Shim.ID, size: measure.MM(c.Shim.Thickness.Nom), points: true,
			at: plane.Point{X: m.foot.x0 + 3, Y: (m.shim.y0 + m.shim.y1) / 2}})
	}
	rc := c.Receptacle
	work := ""
	if rc.Fixing == stock.Welded {
		work = fmt.Sprintf("welded, %d welds; take the wire out first", rc.Welds)
	}
	rows = append(rows, sectionRow{name: rc.Name, id: rc.ID, size: "depth h " + measure.MM(rc.Depth.Nom), work: work, points: true,
		at: plane.Point{X: m.foot.x0 + 2, Y: (m.foot.y0 + m.foot.y1) / 2}})
	rivet("receptacle", c.ReceptacleRivet)
	return append(rows,
		sectionRow{name: "wire, locked", size: "depth R " + measure.MM(m.st.Close.R), points: true, at: plane.Point{X: -m.body * 0.3, Y: m.locked}},
		sectionRow{name: "wire, free (chain line)", size: "depth z " + measure.MM(m.st.Close.Z)})
}

// sectionRivetPoint is where the number of a rivet points: the head that shows on the outside, else the tail that shows on
// the inside, else the shank.
func sectionRivetPoint(v sectionRivet) plane.Point {
	r, y := v.joint.Rivet, v.head-v.out*0.3
	switch {
	case v.joint.Part == "plate" && v.out < 0 && r.Head != "countersunk":
		y = v.head - r.HeadHeight*0.4
	case v.joint.Part == "receptacle" && v.out < 0 && v.joint.TailSink == nil:
		y = v.tail + v.washer + r.TailLength*0.5
	}
	return plane.Point{X: v.x - r.Diameter*0.25, Y: y}
}

// sectionRivetWork says where head and tail of a rivet lie.
func sectionRivetWork(j *setout.RivetJoint) string {
	words := "head on " + j.HeadOn + ", tail on " + j.TailOn
	if t := j.TailTreatment; t != "" && t != "none" {
		words += "; " + t
	}
	return words
}

// templateHoleWork collects what is drilled in each layer of a station.
func templateHoleWork(p *setout.Panel, station string) map[string]string {
	out := map[string]string{}
	for _, l := range HoleLines(p, station, false) {
		layer, work, ok := strings.Cut(l, ": ")
		if !ok {
			continue
		}
		if out[layer] != "" {
			out[layer] += "; "
		}
		out[layer] += work
	}
	return out
}

// sectionTable sets the rows as a table that is about so wide.
func sectionTable(rows []sectionRow, width float64) sheet.Table {
	t := sheet.Table{Columns: []sheet.Column{
		{Title: "no.", Width: 9, Align: sheet.Right},
		{Title: "part", Width: width*0.31 - 9},
		{Title: "id, material", Width: width * 0.27},
		{Title: "size", Width: width * 0.16},
		{Title: "holes, fixing", Width: width * 0.26},
	}, Strong: []bool{true}}
	for i, r := range rows {
		if !r.points && r.work == "" && !strings.HasPrefix(r.name, "wire") {
			r.work = "not drawn"
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), r.name, r.id, r.size, r.work})
	}
	return t
}

// sectionColumn is the distance of the columns of depths, mm.
const sectionColumn = 9.5

// depths draws the running depths from the seat, at the right: T, R, z, and δ between the wires.
func (s *sectionPlot) depths(x float64) {
	m := s.m
	seat := s.at(0, m.seat).Y
	edge := s.at(m.half, 0).X
	level := func(y, from float64, pen sheet.Pen) {
		s.c.Line(At(s.at(from, 0).X+1, y), At(edge+4, y), pen, sheet.LayerDimension)
	}
	seatFrom := m.c.Stud.HeadDiameter / 2
	if m.plate != nil {
		seatFrom = m.plate.x1
	}
	level(seat, seatFrom, sheet.Thin)
	s.c.text(sheet.Text{At: At(edge+1.5, seat-1.2), Size: sheet.Letters25, S: "seat", Halo: true, Layer: sheet.LayerDimension})
	wall := m.body + m.wall()
	mount, locked, free := s.at(0, m.mount).Y, s.at(0, m.locked).Y, s.at(0, m.free).Y
	if math.Abs(m.mount-m.layers[len(m.layers)-1].y1) > 0.01 {
		level(mount, m.foot.x1, sheet.Fine)
	}
	level(locked, wall, sheet.Fine)
	level(free, wall, viewGhost)
	d := m.st.Close.Result
	var texts []sheet.Item
	for i, q := range []struct {
		from, to float64
		text     string
	}{
		{seat, mount, "T " + measure.Fixed(d.T, 2)},
		{seat, locked, "R " + measure.Fixed(d.R, 2)},
		{seat, free, "z " + measure.Fixed(d.Z, 2)},
		{locked, free, "δ " + measure.Fixed(d.Delta, 2)},
	} {
		// From the upper to the lower, so that every dimension stands on the same side.
		a, b := math.Min(q.from, q.to), math.Max(q.from, q.to)
		col := x + float64(i)*sectionColumn
		for _, it := range sheet.Dimension(At(edge+3.2, a), At(edge+3.2, b), -(col - edge - 3.2), q.text) {
			if _, ok := it.(sheet.Text); ok {
				texts = append(texts, it)
			} else {
				s.c.Add(it)
			}
		}
	}
	s.c.addMarks(texts) // last, so that no line crosses them
}

// shimArrow says at the receptacle's foot, on the right, where a shim goes and which way it works. dims is where the columns
// of depths begin.
func (s *sectionPlot) shimArrow(dims float64) {
	m := s.m
	if m.st.Shims == 0 && m.c.Receptacle.Fixing == stock.Welded {
		return // a shim under a welded foot is no correction that can be made
	}
	words, way := ShimWay(m.c.Receptacle.Mount)
	x := m.foot.x1 - 2.2
	y := (m.shim.y0 + m.shim.y1) / 2
	gap := s.at(x, y)
	// Under everything that lies on the right: the foot, its rivets' tails, and the lines to the depths.
	low := math.Max(s.at(0, math.Max(m.foot.y1, m.shim.y1)).Y+6, s.at(0, math.Max(m.locked, m.free)).Y+4)
	for _, v := range m.rivets {
		if v.x > 0 && v.out < 0 {
			low = math.Max(low, s.at(0, v.tail+v.washer+v.joint.Rivet.TailLength).Y+3)
		}
	}
	low = math.Max(low, s.at(0, m.layers[len(m.layers)-1].y1).Y+4)
	left := s.at(m.foot.x1, 0).X - 4
	right := left + 8 + math.Max(sheet.TextWidth(words, sheet.Letters25, sheet.Regular), sheet.TextWidth(sectionShimMove(way), sheet.Letters25, sheet.Regular))
	for i, y := range []float64{m.mount, m.locked, m.free} {
		// A depth too short for its text has it below, in a column that the words may reach.
		const textLong = 16
		if (y-m.seat)*s.scale < textLong && dims+float64(i)*sectionColumn-5 < right {
			low = math.Max(low, s.at(0, y).Y+textLong+2)
		}
	}
	below := At(left, low)
	if way != 0 {
		tail, tip := At(below.X, below.Y-1), At(below.X, below.Y+8)
		if way < 0 {
			tail, tip = tip, tail
		}
		s.c.bigArrow(tail, tip, 4.5)
	}
	s.c.addMarks([]sheet.Item{
		sheet.Stroke{Path: plane.Open(gap, At(below.X+5, below.Y+1.5), At(below.X+7, below.Y+1.5)), Pen: &sheet.Fine, Layer: sheet.LayerDimension},
		sheet.Circle{At: gap, R: 0.5, Fill: &sheet.Black, Layer: sheet.LayerDimension},
		sheet.Text{At: At(below.X+8, below.Y+2.8), Size: sheet.Letters25, S: words, Halo: true, Layer: sheet.LayerDimension},
		sheet.Text{At: At(below.X+8, below.Y+7.2), Size: sheet.Letters25, S: sectionShimMove(way), Halo: true, Layer: sheet.LayerDimension},
	})
}

func sectionShimMove(way float64) string {
	switch {
	case way > 0:
		return "it moves the wire inwards"
	case way < 0:
		return "it moves the wire outwards"
	}
	return "panel and wire move together"
}
