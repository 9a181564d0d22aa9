package drawing

import (
	"fmt"
	"math"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
	"panelwright/internal/tile"
)

func templateMM(v float64) string { return measure.MM(v) }

// templateOverview is the first page of a panel: the panel to scale with its dimensions, the map of its pages, and how to
// use them.
func templateOverview(plan *setout.Plan, p *setout.Panel, g *tile.Grid, paper sheet.Paper, behind bool) sheet.Sheet {
	const margin = 10
	w, h := paper.W, paper.H
	b := p.Job.Outline.Outer.Bounds()
	if b.Width() > b.Height() && paper.W > 250 { // a large sheet shows a wide panel better across
		w, h = h, w
	}
	s := sheet.Sheet{Title: p.Job.Name + ", overview", W: w, H: h}
	var c Canvas
	name, size := sheet.FitText(p.Job.Name, w-2*margin, sheet.Letters70, sheet.Letters35, sheet.Bold)
	c.Bold(margin, margin+7, size, sheet.Left, name)
	y := margin + 13.5
	if behind {
		c.mirrored(margin, y)
		y += 6
	}
	if again := AgainLines(plan.Job, p.Job); len(again) > 0 {
		y = c.Boxed(margin, y-3, w-2*margin, sheet.Letters25, again) + 5
	}
	y = c.wrapped(margin, y, w-2*margin, sheet.Letters25, templateAbout(plan, p))
	c.Line(At(margin, y-2), At(w-margin, y-2), sheet.Outline, sheet.LayerTable)

	mid := margin + (w-2*margin)*0.44
	lower := math.Max(82, 12+templateHowToHigh(templateHowTo(plan, p, g, behind), w-margin-mid-6)) // map and instructions
	foot := h - margin - lower
	figure := DrawPanel(plan.Job, p, plane.Box{Min: At(margin, y), Max: At(w-margin, foot-12)}, PanelMarks{
		KeepOuts: true, Size: true, Tape: true, Front: true, EdgeName: true, behind: behind})
	step := panelScaleStep(figure.view.Scale)
	figure.Canvas.addMarks(sheet.ScaleBar(margin+2, foot-4, figure.view.Scale, step, 4))
	figure.Canvas.Write(w-margin, foot-4, sheet.Letters25, sheet.Right, "scale "+viewScaleName(figure.view.Scale)+", tape from each ring"+map[bool]string{true: ", inches", false: ", mm"}[plan.Job.Inch])
	c.Line(At(margin, foot), At(w-margin, foot), sheet.Outline, sheet.LayerTable)

	c.Bold(margin, foot+6, sheet.Letters35, sheet.Left, "Pages")
	templateMap(&c, p, g, plane.Box{Min: At(margin, foot+9), Max: At(mid-4, h-margin)}, "", behind)
	c.Bold(mid, foot+6, sheet.Letters35, sheet.Left, "Before drilling")
	y = foot + 12
	for i, l := range templateHowTo(plan, p, g, behind) {
		c.Write(mid, y, sheet.Letters25, sheet.Left, fmt.Sprintf("%d", i+1))
		y = c.wrapped(mid+6, y, w-margin-mid-6, sheet.Letters25, l) + 0.8
	}
	s.Add(figure.Canvas.Items...)
	s.Add(c.Items...)
	return s
}

// templateAbout says what the panel is.
func templateAbout(plan *setout.Plan, p *setout.Panel) string {
	b := p.Job.Outline.Outer.Bounds()
	parts := []string{
		plan.Job.Name,
		fmt.Sprintf("%s × %s", Across(plan.Job, b.Width()), Across(plan.Job, b.Height())),
		LayerWords(&p.Job.Outer),
		fmt.Sprintf("%d stations", len(p.Stations)),
	}
	if p.Job.Quantity > 1 {
		parts = append(parts, fmt.Sprintf("%d of this panel: each is marked from these pages", p.Job.Quantity))
	}
	if plan.Job.Date != "" {
		parts = append(parts, plan.Job.Date)
	}
	return strings.Join(append(parts, NoApproval), " · ")
}

// templateHowTo is the order of marking out, as far as paper goes.
func templateHowTo(plan *setout.Plan, p *setout.Panel, g *tile.Grid, behind bool) []string {
	n := len(g.Tiles)
	seen := "Seen from outside. Full rings are in the outer panel, dashed ones in what lies behind"
	of := ""
	if behind {
		of = " of templates.pdf"
		seen = "Seen from behind, mirrored: lay the printed side up on the back. Full rings are in what lies behind the outer panel, dashed ones in the outer panel"
	}
	lines := []string{
		fmt.Sprintf("Print the %d page%s of this panel at 100 %%, not fitted to the page. Measure both scales on each: 100.0 mm.", n, Plural(n)),
	}
	if n > 1 {
		lines = append(lines, "Cut each page along \"cut here\" and lay it on the dashed line of its neighbour, target on target. Tape.")
	}
	if len(g.LeftOut) > 0 {
		lines = append(lines, "Not printed, nothing lies there: "+strings.Join(g.LeftOut, ", ")+".")
	}
	lines = append(lines,
		"Lay the thick edge on the panel's edge. Check the tape distances along every edge; the tape wins over the paper.",
		seen+"; fine dashed rectangles are the feet and plates of the parts: see that nothing stands in their way. Sizes stand at each station.")
	lines = append(lines, p.Job.CrownNotes()...)
	if p.Inner != "" {
		lines = append(lines, p.Inner)
	}
	lines = append(lines, TapeNotes(p.Job)...)
	for _, k := range SectionKinds(plan) {
		for _, s := range k.Stations {
			if s.Panel == p.Job.Name {
				lines = append(lines, "Stations "+StationRuns(s.Stations)+": see section "+k.Name+of+".")
			}
		}
	}
	zone := "A hole marked from paper lies within Ø " + templateMM(plan.Job.Conditions.TemplateZone.Value) + " of its place: "
	switch plan.Job.Conditions.Marking {
	case "jig":
		lines = append(lines, "The job relies on jigs (jigs.pdf): the paper shows where each is held, and serves for stations that have none.")
	case "template":
		lines = append(lines, zone+"each sheet is marked from it by itself, and the chance that the panel drops on reckons with that.")
	default:
		lines = append(lines, zone+"pilot both layers clamped together before any hole is opened.")
	}
	if len(p.Job.Hazards) > 0 {
		lines = append(lines, "Behind this panel: "+strings.Join(p.Job.Hazards, ", ")+".")
	}
	return lines
}

// templateHowToHigh is the height that the instructions take in a column, mm.
func templateHowToHigh(lines []string, width float64) float64 {
	high := 0.0
	for _, l := range lines {
		high += float64(len(sheet.Wrap(l, width, sheet.Letters25, sheet.Regular)))*sheet.Letters25*sheet.Leading + 0.8
	}
	return high
}

// Plural is the s of a noun that stands for n things: none when n is 1.
func Plural(n int) string {
	if n == 1 {
		return ""
	}
	return "s"
}
