package web

import (
	"bytes"
	"context"
	"mime"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"panelwright"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
	"panelwright/internal/stock"
)

// planPage is a page that shows a plan, or says why there is none.
type planPage struct {
	Status Status
}

// planOf waits for the plan of a vehicle as long as a page may. A page without it says how planning stands.
func (s *server) planOf(r *http.Request) (Revision, *Run, Status, error) {
	v, err := s.present(r)
	if err != nil {
		return v, nil, Status{}, err
	}
	run, now := s.status(r, v)
	return v, run, now, nil
}

// orderView is what is to be bought.
type orderView struct {
	planPage
	Rows       []orderRow
	Notes      []string // each once
	Cost, Mass string
	Currency   string
	Fails      int
}

type orderRow struct {
	Name, Kind, Cost, Mass, For   string
	Need, Spare, Packs, Size, Buy int
}

func (s *server) order(w http.ResponseWriter, r *http.Request) error {
	v, _, now, err := s.planOf(r)
	if err != nil {
		return err
	}
	view := orderView{planPage: planPage{now}}
	if p := now.Plan; p != nil {
		cost, mass := 0.0, 0.0
		for _, l := range p.Order {
			cost, mass = cost+l.Cost, mass+l.Mass
			if l.Note != "" && !slices.Contains(view.Notes, l.Note) {
				view.Notes = append(view.Notes, l.Note)
			}
			view.Rows = append(view.Rows, orderRow{Name: l.Name, Kind: l.Kind, Cost: measure.Fixed(l.Cost, 2), Mass: measure.Kilogram(l.Mass),
				For: strings.Join(l.ForPanels, ", "), Need: l.Need, Spare: l.Spare, Packs: l.Packs, Size: l.PackSize, Buy: l.Buy})
		}
		view.Cost, view.Mass = measure.Fixed(cost, 2), measure.Kilogram(mass)
		if p.Job.Range != nil {
			view.Currency = p.Job.Range.Currency
		}
		view.Fails = panelwright.Tally(p).Fails
	}
	s.show(w, r, http.StatusOK, "order", page{Title: "Order", At: "order", Vehicle: &v, Script: "run.js", Body: view})
	return nil
}

// rangeView is what there is to choose from, and what the plan chose.
type rangeView struct {
	planPage
	Name, Source string
	Sample       bool
	Groups       []partGroup
	Drills       []string // owned; none: any size can be had
	Notes        []string
}

type partGroup struct {
	Name  string
	Heads []string
	Parts []part
	Used  int
}

type part struct {
	ID, Name string
	Figures  []string
	Price    string
	For      []string // panels that the plan uses it for
}

func (s *server) rangePage(w http.ResponseWriter, r *http.Request) error {
	v, _, now, err := s.planOf(r)
	if err != nil {
		return err
	}
	view := rangeView{planPage: planPage{now}}
	if j := now.Job; j != nil && j.Range != nil {
		used := map[string][]string{}
		if now.Plan != nil {
			for _, l := range now.Plan.Order {
				used[l.ID] = l.ForPanels
			}
		}
		view.Name, view.Source, view.Sample, view.Notes = j.Range.Name, j.RangeName, j.Range.Sample, j.Range.Notes
		view.Groups = partGroups(lookOf(r), j.Range, used)
		if !j.AnySize {
			view.Drills = drillNames(lookOf(r), j.Drills)
		}
	}
	s.show(w, r, http.StatusOK, "range", page{Title: "Range and stock", At: "range", Vehicle: &v, Script: "run.js", Body: view})
	return nil
}

// drillNames names drills as they are stamped, with the size in the reader's unit where the stamp does not give it.
func drillNames(l look, drills []stock.Drill) []string {
	var out []string
	for _, d := range drills {
		name := d.Name
		if l.Inch || d.Series != stock.SeriesMetric {
			name += " (" + l.Length(d.Diameter) + ")"
		}
		out = append(out, name)
	}
	return out
}

func partGroups(l look, g *stock.Range, used map[string][]string) []partGroup {
	price := func(cost float64, pack int) string {
		return measure.Fixed(cost, 2) + " " + g.Currency + ", in packs of " + strconv.Itoa(max(1, pack))
	}
	tol := func(t stock.Toleranced) string {
		if t.Tol == 0 {
			return l.Length(t.Nom)
		}
		return l.Length(t.Nom) + " ± " + l.Length(t.Tol)
	}
	studs := partGroup{Name: "Studs", Heads: []string{"Head", "Drive", "Reach", "Shank", "Rating"}}
	for _, x := range g.Studs {
		studs.Parts = append(studs.Parts, part{x.ID, x.Name, []string{x.Head, x.Drive, tol(x.Reach), tol(x.Shank), measure.Newton(x.Rating)}, price(x.Cost, x.PackSize), used[x.ID]})
	}
	plates := partGroup{Name: "Mounting plates", Heads: []string{"Lies", "Thickness", "Size", "Float", "Centre hole"}}
	for _, x := range g.Plates {
		plates.Parts = append(plates.Parts, part{x.ID, x.Name, []string{string(x.Face), l.Length(x.Thickness), l.Length(x.Length) + " × " + l.Length(x.Width), l.Length(x.Float), tol(x.CentreHole)},
			price(x.Cost, x.PackSize), used[x.ID]})
	}
	receptacles := partGroup{Name: "Receptacles", Heads: []string{"Lies", "Fixed", "Depth", "Rate", "Rating"}}
	for _, x := range g.Receptacles {
		receptacles.Parts = append(receptacles.Parts, part{x.ID, x.Name, []string{strings.ReplaceAll(string(x.Mount), "-", " "), string(x.Fixing), tol(x.Depth), measure.Fixed(x.Rate.Nom, 0) + " N/mm", measure.Newton(x.Rating)},
			price(x.Cost, x.PackSize), used[x.ID]})
	}
	rivets := partGroup{Name: "Rivets", Heads: []string{"Head", "Diameter", "Hole", "Grip", "Shear"}}
	for _, x := range g.Rivets {
		rivets.Parts = append(rivets.Parts, part{x.ID, x.Name, []string{x.Head, l.Length(x.Diameter), l.Length(x.HoleMin) + " to " + l.Length(x.HoleMax), l.Length(x.GripMin) + " to " + l.Length(x.GripMax), measure.Newton(x.Shear)},
			price(x.Cost, x.PackSize), used[x.ID]})
	}
	shims := partGroup{Name: "Shims", Heads: []string{"Thickness"}}
	for _, x := range g.Shims {
		shims.Parts = append(shims.Parts, part{x.ID, x.Name, []string{tol(x.Thickness)}, price(x.Cost, x.PackSize), used[x.ID]})
	}
	groups := []partGroup{studs, plates, receptacles, rivets, shims}
	for i := range groups {
		for _, p := range groups[i].Parts {
			if len(p.For) > 0 {
				groups[i].Used++
			}
		}
		// What the plan uses comes first; else as the range has them.
		slices.SortStableFunc(groups[i].Parts, func(a, b part) int { return min(1, len(b.For)) - min(1, len(a.For)) })
	}
	return groups
}

// printsView is the pack, file by file.
type printsView struct {
	planPage
	First    []packRow
	Panels   []panelHead
	ByPanel  []packGroup
	Tables   []packRow
	Jigs     []packGroup
	Previews []panelHead
}

type packGroup struct {
	Name  string
	Files []packRow
}

type packRow struct {
	Name, What, Size string
}

// packWords say what a file of the pack is for, by its name or by how its name begins and ends.
var packWords = map[string]string{
	"plan.html":            "the plan to read: start here",
	"templates.pdf":        "full-size templates: print at 100 %, measure both scales",
	"templates-behind.pdf": "the templates mirrored, for marking from behind",
	"strips.pdf":           "full-size strips along the edges: less paper",
	"stickers.pdf":         "a card for each station, to cut out and stick on",
	"card.pdf":             "work cards to print, the last page goes to the vehicle",
	"labels.pdf":           "a label with a code for each piece",
	"jigs.pdf":             "drill jigs: full size, with how to use them",
	"order.csv":            "parts to buy, for a spreadsheet",
	"holes.csv":            "every hole, in the order of work",
	"forces.csv":           "each station's wire in each load case",
	"gaps.csv":             "gaps of the seams under load",
	"plan.json":            "everything, for other programs",
	"pack.sha256":          "digests of the files, for sha256sum -c",
	"card-.html":           "work card as a page",
	"panel-.svg":           "the panel to scale",
	"cut-.dxf":             "cutting drawing for laser, water jet or router",
	"cut-.svg":             "the same cutting drawing, to look at",
	"jig-.dxf":             "jig plate, to cut",
	"jig-.stl":             "jig, to print",
	"jig-.3mf":             "jig, to print, with its unit in the file",
}

func packWord(name string) string {
	if w := packWords[name]; w != "" {
		return w
	}
	begin, _, _ := strings.Cut(name, "-")
	return packWords[begin+"-"+path.Ext(name)]
}

func kilobytes(n int) string {
	if n < 1<<20 {
		return strconv.Itoa((n+1023)>>10) + " kB"
	}
	return measure.Fixed(float64(n)/(1<<20), 1) + " MB"
}

func (s *server) prints(w http.ResponseWriter, r *http.Request) error {
	v, run, now, err := s.planOf(r)
	if err != nil {
		return err
	}
	view := printsView{planPage: planPage{now}}
	if now.Plan != nil {
		pack, err := s.packOf(r, run)
		if err != nil {
			return err
		}
		view.sort(now.Plan, pack)
	}
	s.show(w, r, http.StatusOK, "prints", page{Title: "Prints", At: "prints", Vehicle: &v, Script: "run.js", Body: view})
	return nil
}

// sort puts the files where a fitter looks for them: papers, each panel's own, jigs, tables.
func (p *printsView) sort(plan *setout.Plan, pack *panelwright.Pack) {
	for _, pan := range plan.Panels {
		p.ByPanel = append(p.ByPanel, packGroup{Name: pan.Job.Name})
		p.Previews = append(p.Previews, panelHead{pan.Job.ID, pan.Job.Name})
	}
	for _, f := range pack.Files {
		row := packRow{f.Name, packWord(f.Name), kilobytes(len(f.Data))}
		if i := panelOf(plan, f.Name); i >= 0 {
			p.ByPanel[i].Files = append(p.ByPanel[i].Files, row)
			continue
		}
		base := strings.TrimSuffix(f.Name, path.Ext(f.Name))
		switch {
		case strings.HasPrefix(f.Name, "jig-"):
			if n := len(p.Jigs); n == 0 || p.Jigs[n-1].Name != base {
				p.Jigs = append(p.Jigs, packGroup{Name: base})
			}
			g := &p.Jigs[len(p.Jigs)-1]
			g.Files = append(g.Files, row)
		case path.Ext(f.Name) == ".csv" || path.Ext(f.Name) == ".json":
			p.Tables = append(p.Tables, row)
		default:
			p.First = append(p.First, row)
		}
	}
}

// panelOf finds the panel that a file belongs to: the one with the longest id that the name carries.
func panelOf(plan *setout.Plan, name string) int {
	best, length := -1, 0
	for _, begin := range []string{"card-", "panel-", "cut-"} {
		rest, ok := strings.CutPrefix(strings.TrimSuffix(name, path.Ext(name)), begin)
		if !ok {
			continue
		}
		for i, p := range plan.Panels {
			if (rest == p.Job.ID || strings.HasPrefix(rest, p.Job.ID+"-")) && len(p.Job.ID) > length {
				best, length = i, len(p.Job.ID)
			}
		}
	}
	return best
}

// wholePack waits for a vehicle's pack.
func (s *server) wholePack(r *http.Request) (*panelwright.Pack, error) {
	v, err := s.present(r)
	if err != nil {
		return nil, err
	}
	run := s.plan(v)
	ctx, stop := context.WithTimeout(r.Context(), s.patience)
	defer stop()
	now := run.Wait(ctx)
	if now.State == Stopped {
		return nil, refuse(http.StatusConflict, "Changed meanwhile", "The planning of this revision was stopped: by somebody's wish, or because a newer one was saved. "+
			"Ask again, or look how the vehicle stands.").back(address(v.Vehicle, ""), "To the vehicle")
	}
	if now.Err == errBusy || !now.Ended() {
		return nil, refuse(http.StatusServiceUnavailable, "Busy", "%s.", errBusy).back(address(v.Vehicle, ""), "To the vehicle")
	}
	if now.Plan == nil {
		return nil, refuse(http.StatusConflict, "No pack", "This revision has no plan: mend the job's faults, or plan it again.").back(address(v.Vehicle, ""), "To the vehicle")
	}
	return s.packOf(r.WithContext(ctx), run)
}

// packOf waits until the pack of a planned run is drawn, within patience.
func (s *server) packOf(r *http.Request, run *Run) (*panelwright.Pack, error) {
	ctx, stop := context.WithTimeout(r.Context(), s.patience)
	defer stop()
	pack, err := run.Pack(ctx)
	if err != nil && ctx.Err() != nil {
		return nil, refuse(http.StatusServiceUnavailable, "Busy", "Too much is being drawn at once: try again in a minute.")
	}
	return pack, err
}

var fileKinds = map[string]string{
	".html": "text/html; charset=utf-8", ".svg": "image/svg+xml", ".pdf": "application/pdf", ".csv": "text/csv; charset=utf-8",
	".json": "application/json", ".dxf": "image/vnd.dxf", ".stl": "model/stl", ".3mf": "model/3mf",
}

// packFile gives one file of the pack. A page or a picture of it can be looked at, in a sandbox; all else is kept.
func (s *server) packFile(w http.ResponseWriter, r *http.Request) error {
	pack, err := s.wholePack(r)
	if err != nil {
		return err
	}
	name := r.PathValue("name")
	for _, f := range pack.Files {
		if f.Name != name {
			continue
		}
		kind := fileKinds[path.Ext(name)]
		w.Header().Set("Content-Security-Policy", filePolicy)
		switch path.Ext(name) {
		case ".html", ".svg", ".pdf":
			if kind == "application/pdf" { // a reader inside the browser does not work in a sandbox, and runs nothing of ours
				w.Header().Set("Content-Security-Policy", "frame-ancestors 'none'")
			}
			w.Header().Set("Content-Type", kind)
			w.Header().Set("Content-Disposition", mime.FormatMediaType("inline", map[string]string{"filename": name}))
			http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(f.Data))
			return nil
		}
		if kind == "" {
			kind = "application/octet-stream"
		}
		return download(w, kind, name, f.Data)
	}
	return refuse(http.StatusNotFound, "Nothing here", "The pack has no such file.").back("../prints", "To the prints")
}

// packZip gives the whole pack; its files are those that the command line writes, byte for byte.
func (s *server) packZip(w http.ResponseWriter, r *http.Request) error {
	pack, err := s.wholePack(r)
	if err != nil {
		return err
	}
	var names []string
	files := map[string][]byte{}
	for _, f := range append(pack.Files[:len(pack.Files):len(pack.Files)], pack.List()) {
		names, files[f.Name] = append(names, f.Name), f.Data
	}
	data, err := zipOf(names, func(name string) []byte { return files[name] })
	if err != nil {
		return err
	}
	return download(w, "application/zip", "pack.zip", data)
}
