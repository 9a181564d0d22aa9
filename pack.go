package panelwright

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"runtime"
	"sync"

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

// Draw makes the pack of a plan. The same plan gives the same bytes. Files are drawn side by side on as many processors as there are;
// each is a matter of its own, so their number changes nothing. Of several errors that of the first file in the list is given.
func Draw(ctx context.Context, p *setout.Plan, progress func(doing string)) (*Pack, error) {
	files, err := packFiles(p)
	if err != nil {
		return nil, err
	}
	pack := &Pack{Files: make([]File, len(files))}
	errs := make([]error, len(files))
	var mu sync.Mutex
	next := 0
	take := func() (int, bool) {
		mu.Lock()
		defer mu.Unlock()
		if next == len(files) || ctx.Err() != nil {
			return 0, false
		}
		if progress != nil {
			progress("drawing " + files[next].name)
		}
		next++
		return next - 1, true
	}
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(files)) {
		all.Go(func() {
			for i, ok := take(); ok; i, ok = take() {
				var b bytes.Buffer
				if err := files[i].draw(&b); err != nil {
					errs[i] = fmt.Errorf("draw %s: %w", files[i].name, err)
				}
				pack.Files[i] = File{files[i].name, b.Bytes()}
			}
		})
	}
	all.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
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
		{"templates-behind.pdf", pdf("Full-size templates, mirrored", marking.Behind)},
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
