package panelwright

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"panelwright/internal/card"
	"panelwright/internal/drawing"
	"panelwright/internal/jig"
	"panelwright/internal/marking"
	"panelwright/internal/report"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Pack is all that a plan gives to the bench: named files, in the order in which they are listed.
type Pack struct{ Files []File }

// File is one file of a pack. Name has no folder.
type File struct {
	Name string
	Data []byte
}

// Draw makes the pack of a plan. The same plan gives the same bytes.
func Draw(ctx context.Context, p *setout.Plan, progress func(doing string)) (*Pack, error) {
	pack := &Pack{}
	files, err := packFiles(p)
	if err != nil {
		return nil, err
	}
	for _, f := range files {
		if progress != nil {
			progress("drawing " + f.name)
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		var b bytes.Buffer
		if err := f.draw(&b); err != nil {
			return nil, fmt.Errorf("draw %s: %w", f.name, err)
		}
		pack.Files = append(pack.Files, File{f.name, b.Bytes()})
	}
	return pack, nil
}

type packFile struct {
	name string
	draw func(io.Writer) error
}

func packFiles(p *setout.Plan) ([]packFile, error) {
	pdf := func(subject string, pages func(*setout.Plan) ([]sheet.Sheet, error)) func(io.Writer) error {
		return func(w io.Writer) error {
			sheets, err := pages(p)
			if err != nil {
				return err
			}
			return sheet.WritePDF(w, sheets, sheet.Info{Title: p.Job.Name, Subject: subject, Date: p.Job.Date})
		}
	}
	files := []packFile{
		{"plan.html", func(w io.Writer) error { return report.HTML(w, p) }},
		{"plan.json", func(w io.Writer) error { return report.PlanJSON(w, p, Version) }},
		{"templates.pdf", pdf("Full-size templates", drawing.Templates)},
		{"templates-behind.pdf", pdf("Full-size templates, mirrored", drawing.TemplatesBehind)},
		{"strips.pdf", pdf("Full-size strips along the edges", marking.Strips)},
		{"stickers.pdf", pdf("Cards for the stations", marking.Stickers)},
		{"card.pdf", pdf("Work card", card.Pages)},
		{"labels.pdf", pdf("Labels", marking.Labels)},
		{"jigs.pdf", pdf("Drill jigs", jig.Pages)},
		{"order.csv", func(w io.Writer) error { return report.OrderCSV(w, p) }},
		{"holes.csv", func(w io.Writer) error { return report.HolesCSV(w, p) }},
		{"forces.csv", func(w io.Writer) error { return report.ForcesCSV(w, p) }},
		{"gaps.csv", func(w io.Writer) error { return report.GapsCSV(w, p) }},
	}
	for _, pan := range p.Panels {
		files = append(files, packFile{"card-" + pan.Job.ID + ".html", func(w io.Writer) error { return card.HTML(w, p, pan) }})
		files = append(files, packFile{"panel-" + pan.Job.ID + ".svg", func(w io.Writer) error { return drawing.PanelSVG(w, p, pan) }})
	}
	cuts, err := marking.Cuttings(p)
	if err != nil {
		return nil, fmt.Errorf("draw what is cut: %w", err)
	}
	for _, c := range cuts {
		files = append(files, packFile{c.Name + ".dxf", c.WriteDXF}, packFile{c.Name + ".svg", c.WriteSVG})
	}
	jigs, _ := jig.Gather(p)
	for _, j := range jigs {
		files = append(files, packFile{j.Name + ".dxf", j.WriteDXF}, packFile{j.Name + ".stl", j.WriteSTL}, packFile{j.Name + ".3mf", j.Write3MF})
	}
	return files, nil
}
