package drawing

import (
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Margins of a section's page, mm.
const (
	sectionEdge    = 12.0
	sectionBalloon = 26.0 // column of the numbers on the left
	sectionDims    = 46.0 // columns of the depths on the right
)

// Heights on the page, mm: of the lower zone, at least; of the enlarged section, at least. A table of parts that leaves less
// for the section, or for the column of numbers, stands apart.
const (
	sectionLower   = 66
	sectionUpright = 54 // of figures and full size over the table, on an upright page
	sectionRoom    = 62
)

// sectionLayout is how a kind's first page is divided.
type sectionLayout struct {
	w, h    float64
	head    float64 // where the enlarged section may begin
	foot    float64 // where the lower zone begins
	over    float64 // of the lower zone, before a table under it
	table   sheet.Table
	upright bool // the table stands under figures and full size, which stand side by side
	apart   bool // the table has a page of its own; the rest as upright
}

// scale is that of the enlarged section.
func (l sectionLayout) scale(m *sectionModel) float64 {
	in := l.room()
	return FitScale(2*m.half, m.deep-m.high, in.Width(), in.Height(), 10)
}

// room is what the enlarged section has between the numbers and the depths.
func (l sectionLayout) room() plane.Box {
	return plane.Box{Min: At(sectionEdge+sectionBalloon, l.head+9), Max: At(l.w-sectionEdge-sectionDims, l.foot-8)}
}

// sectionLayouts are the ways to lay out a kind, from the one that one page shows best.
func sectionLayouts(p *setout.Plan, k SectionKind, m *sectionModel, rows []sectionRow, paper sheet.Paper) []sectionLayout {
	across := sectionLayout{w: paper.H, h: paper.W, table: sectionTable(rows, paper.H-2*sectionEdge-86)}
	across.head = sectionHead(new(Canvas), p, k, across.w)
	across.foot = across.h - sectionEdge - max(across.table.Height()+8, sectionLower,
		m.deep-m.high+22+sectionFiguresHigh(p, m, across.w-2*sectionEdge-across.table.Width()-6))
	side := func(w, h float64, apart bool) sectionLayout {
		l := sectionLayout{w: w, h: h, upright: !apart, apart: apart, table: sectionTable(rows, w-2*sectionEdge)}
		l.head = sectionHead(new(Canvas), p, k, w)
		l.over = max(sectionUpright, 12+sectionFiguresHigh(p, m, w/2-sectionEdge), m.deep-m.high+18)
		l.foot = h - sectionEdge - l.over
		if !apart {
			l.foot -= l.table.Height()
		}
		return l
	}
	return []sectionLayout{across, side(paper.W, paper.H, false), side(paper.H, paper.W, true), side(paper.W, paper.H, true)}
}

// sectionChoose takes the first layout that shows the section at 2:1 or larger beside the column of its numbers; where none
// does, the one that shows it largest.
func sectionChoose(layouts []sectionLayout, m *sectionModel, rows int) sectionLayout {
	const enough = 2
	best := layouts[len(layouts)-1]
	for _, l := range layouts {
		if l.foot-l.head < max(sectionRoom, 6.2*float64(rows)+16) {
			continue
		}
		if l.scale(m) >= enough {
			return l
		}
		if l.scale(m) > best.scale(m) {
			best = l
		}
	}
	return best
}

// sectionPages lays out a kind: title, enlarged section with numbers and depths, parts, depths as figures, full size. The page
// lies across; where that leaves the section too little room it stands upright, with the parts under all else, and where that
// is too little the parts have a page of their own.
func sectionPages(p *setout.Plan, k SectionKind, paper sheet.Paper) []sheet.Sheet {
	m := sectionOf(k.Panel, k.Station)
	rows := sectionParts(p.Job, k.Panel, m)
	l := sectionChoose(sectionLayouts(p, k, m, rows, paper), m, len(rows))
	w, h, table := l.w, l.h, l.table
	var c Canvas
	y := sectionHead(&c, p, k, w)
	sectionEnlarged(&c, m, rows, plane.Box{Min: At(sectionEdge, y), Max: At(w-sectionEdge, l.foot)})
	c.Line(At(sectionEdge, l.foot), At(w-sectionEdge, l.foot), sheet.Thin, sheet.LayerTable)

	tableTop, plan := l.foot+5, plane.Box{Min: At(sectionEdge+table.Width()+6, l.foot+2), Max: At(w-sectionEdge, h-sectionEdge)}
	if l.upright || l.apart {
		tableTop = l.foot + l.over - 2
		plan = plane.Box{Min: At(sectionEdge, l.foot+2), Max: At(w/2-4, tableTop)}
	}
	low := sectionFullSize(&c, m, plan)
	figures := At(plan.Min.X, low+4)
	if l.upright || l.apart {
		figures = At(w/2, l.foot+8)
	}
	sectionWriteFigures(&c, p, m, figures, w-sectionEdge-figures.X)
	if !l.apart {
		items, _, rest := table.Layout(sectionEdge, tableTop, h-sectionEdge)
		c.Add(items...)
		table.Rows = rest
	}
	first := sheet.Sheet{Title: "Section " + k.Name, W: w, H: h, Items: c.Items}
	return append([]sheet.Sheet{first}, sectionTablePages(table, p, k, w, h)...)
}
