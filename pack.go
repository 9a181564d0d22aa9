package panelwright

import (
	"bytes"
	"context"
	"fmt"
	"io"

	"panelwright/internal/card"
	"panelwright/internal/drawing"
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
	for _, f := range packFiles(p) {
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

func packFiles(p *setout.Plan) []packFile {
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
		{"order.csv", func(w io.Writer) error { return report.OrderCSV(w, p) }},
		{"holes.csv", func(w io.Writer) error { return report.HolesCSV(w, p) }},
		{"forces.csv", func(w io.Writer) error { return report.ForcesCSV(w, p) }},
		{"gaps.csv", func(w io.Writer) error { return report.GapsCSV(w, p) }},
	}
	for _, pan := range p.Panels {
		files = append(files, packFile{"card-" + pan.Job.ID + ".html", func(w io.Writer) error { return card.HTML(w, p, pan) }})
		files = append(files, packFile{"panel-" + pan.Job.ID + ".svg", func(w io.Writer) error { return drawing.PanelSVG(w, p, pan) }})
	}
	return files
}
