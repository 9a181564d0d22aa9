package marking

import (
	"fmt"
	"math"
	"strings"

	"panelwright/internal/drawing"
	"panelwright/internal/plane"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Sticker says which station one card of stickers.pdf is of, and where its holes are drawn.
type Sticker struct {
	Page           int
	Panel, Station string
	Angle          float64    // rad: the panel is turned by it clockwise about its origin first, so that its edge lies below
	View           sheet.View // of the turned panel
	Box            plane.Box  // of the card on the page
}

// Map returns the place on the page of a panel point.
func (s Sticker) Map(p plane.Point) plane.Point { return s.View.Map(p.Rotate(-s.Angle)) }

// Sizes of a card, mm: two stand side by side on A4 and Letter, three on A3.
const (
	cardW       = 90.0
	cardPattern = 45.0 // least width of the holes' column
	cardPad     = 2.0
	cardHead    = 12.5
	cardFar     = 34.0 // an edge further than this is not drawn: an arrow points at it
	cardFoot    = 20.0 // of the page
	cardLine    = sheet.Letters25 * 1.25
)

// stickerCard is one station's card: the holes' window in turned coordinates, and the words beside it.
type stickerCard struct {
	plan          *setout.Plan
	panel         *setout.Panel // as it is
	station       *setout.Station
	turned        *setout.Panel // with this station alone
	angle         float64
	at            plane.Point // of the station, turned
	window        plane.Box
	edge          string   // the nearest
	far           float64  // to it
	words, parts  []string // beside the holes; under them
	x, y          float64
	row           float64 // height of the cards of its row
	number, about string
}

// Stickers draws stickers.pdf: for every station a card to cut out, with its holes at full size as they lie to the panel's edge,
// what is drilled, its parts and how the tape finds it. Equal panels share their cards. It fails when the job names a paper
// that is none.
func Stickers(p *setout.Plan) ([]sheet.Sheet, error) {
	sheets, _, err := StickerPages(p)
	return sheets, err
}

// StickerPages is Stickers with the place of every card.
func StickerPages(p *setout.Plan) ([]sheet.Sheet, []Sticker, error) {
	paper, err := drawing.PaperOf(p.Job.Paper)
	if err != nil {
		return nil, nil, err
	}
	var cards []*stickerCard
	for _, pan := range p.Panels {
		for _, st := range pan.Stations {
			cards = append(cards, newCard(p, pan, st))
		}
	}
	pages := layCards(cards, paper)
	var sheets []sheet.Sheet
	var out []Sticker
	for i, page := range pages {
		s := sheet.Sheet{Title: fmt.Sprintf("Stickers, sheet %d of %d", i+1, len(pages)), W: paper.W, H: paper.H}
		for _, c := range page {
			out = append(out, c.draw(&s, i))
		}
		cardMarks(&s, page)
		cardsFoot(&s, p, i, len(pages))
		sheets = append(sheets, s)
	}
	return sheets, out, nil
}

// newCard turns the panel so that the edge nearest to the station lies below it, and gathers the words.
func newCard(p *setout.Plan, pan *setout.Panel, st *setout.Station) *stickerCard {
	c := &stickerCard{plan: p, panel: pan, station: st, number: st.ID}
	outer := pan.Job.Outline.Outer
	s, far, foot := outer.Nearest(st.At)
	if e, ok := pan.Job.Edge(st.Edge); ok { // of two as near as each other that along which the tape lies
		if t, d, at := outer.SubPath(e.From, e.To).Nearest(st.At); d < far+0.05 {
			s, far, foot = e.From+t, d, at
			c.edge = e.Name
		}
	}
	c.far = far
	for _, e := range pan.Job.Edges {
		total := outer.Length()
		for _, turn := range []float64{-total, 0, total} {
			if c.edge == "" && s+turn >= e.From-plane.EdgeTol && s+turn <= e.To+plane.EdgeTol {
				c.edge = e.Name
			}
		}
	}
	down := foot.Sub(st.At)
	if far < plane.EdgeTol {
		down = outer.Tangent(s).Perp().Scale(-1)
	}
	c.angle = math.Atan2(down.Y, down.X) + math.Pi/2
	c.turned = onlyStations(turnPanel(pan, plane.Turn(-c.angle, plane.Point{}), -c.angle), map[string]bool{st.ID: true})
	own := c.turned.Stations[0]
	c.at = own.At
	const round, under = 1.0, 6.5 // under the edge stands its name
	b := drawing.StationReach(c.turned, own).Grow(round)
	half := math.Max(cardPattern/2, math.Max(b.Max.X-c.at.X, c.at.X-b.Min.X))
	low := c.at.Y - c.far - under
	if c.far > cardFar {
		low = b.Min.Y - 17
	}
	c.window = plane.Box{Min: drawing.At(c.at.X-half, math.Min(low, b.Min.Y)), Max: drawing.At(c.at.X+half, b.Max.Y)}
	c.write()
	return c
}

// write sets the words of a card: the head line, then beside the holes what is drilled and the parts.
func (c *stickerCard) write() {
	c.about = strings.ReplaceAll(drawing.TapeOf(c.panel, c.station).Words(func(v float64) string {
		return strings.ReplaceAll(drawing.TapeShown(c.plan.Job)(v), " ", "\u00a0")
	}), "inset ", "inset\u00a0")
	wide := cardW - c.window.Width() - 3*cardPad
	add := func(s string) {
		for i, l := range sheet.Wrap(s, wide-2.5, sheet.Letters25, sheet.Regular) {
			if i > 0 {
				l = "   " + l
			}
			c.words = append(c.words, l)
		}
	}
	lines := drawing.HoleLines(c.panel, c.station.ID, false)
	if len(lines) == 0 {
		add("no parts fit here: do not drill")
		return
	}
	for _, l := range lines {
		add(l)
	}
	ch := c.station.Choice
	if ch == nil {
		return
	}
	parts := "stud " + ch.Stud.ID + " · plate " + ch.Plate.ID
	if n := len(ch.Plate.Rivets); ch.PlateRivet != nil && n > 0 {
		parts += fmt.Sprintf(", %d × %s", n, ch.PlateRivet.ID)
	}
	parts += " · receptacle " + ch.Receptacle.ID
	switch n := len(ch.Receptacle.Rivets); {
	case ch.ReceptacleRivet != nil && n > 0:
		parts += fmt.Sprintf(", %d × %s", n, ch.ReceptacleRivet.ID)
	case ch.Receptacle.Welds > 0:
		parts += ", welded"
	}
	if n := c.station.Shims; n > 0 && ch.Shim != nil {
		add(fmt.Sprintf("%d\u00a0×\u00a0shim %s", n, ch.Shim.ID))
	} else {
		add("no shim")
	}
	parts = strings.NewReplacer(" × ", "\u00a0×\u00a0", " · ", "\u00a0· ", "plate ", "plate\u00a0", "receptacle ", "receptacle\u00a0").Replace(parts)
	c.parts = sheet.Wrap(parts, cardW-2*cardPad, sheet.Letters25, sheet.Regular)
}

// upper is the height of the holes' window, or of the words beside it.
func (c *stickerCard) upper() float64 {
	return math.Max(c.window.Height(), float64(len(c.words))*cardLine+1)
}

// high is the height that a card needs.
func (c *stickerCard) high() float64 {
	return math.Max(cardHead+c.upper()+float64(len(c.parts))*cardLine+cardPad, 44)
}

// layCards sets cards in rows from the top left, in their order; a row is as high as its highest card.
func layCards(cards []*stickerCard, paper sheet.Paper) (pages [][]*stickerCard) {
	across := int((paper.W - 2*pageMargin - pageColumn) / cardW)
	left := pageMargin + pageColumn
	y := pageMargin
	for len(cards) > 0 {
		row := cards[:min(across, len(cards))]
		cards = cards[len(row):]
		high := 0.0
		for _, c := range row {
			high = math.Max(high, c.high())
		}
		if len(pages) == 0 || y+high > paper.H-pageMargin-cardFoot {
			pages, y = append(pages, nil), pageMargin
		}
		for i, c := range row {
			c.x, c.y, c.row = left+float64(i)*cardW, y, high
		}
		pages[len(pages)-1] = append(pages[len(pages)-1], row...)
		y += high
	}
	return pages
}

// draw puts a card on its page.
func (c *stickerCard) draw(s *sheet.Sheet, page int) Sticker {
	view := sheet.View{Scale: 1, Origin: drawing.At(c.x+cardPad-c.window.Min.X, c.y+cardHead+c.window.Max.Y)}
	piece := drawing.Piece{Plan: c.plan, Panel: c.turned, Window: c.window, View: view}
	box := piece.PageBox()
	s.Add(sheet.Clip{X: box.Min.X, Y: box.Min.Y, W: box.Width(), H: box.Height(), Items: piece.DrawHoles()})

	var k drawing.Canvas
	k.Bold(c.x+cardPad, c.y+cardPad+sheet.Letters70*sheet.CapHeight, sheet.Letters70, sheet.Left, c.number)
	x := c.x + 2*cardPad + math.Max(10, sheet.TextWidth(c.number, sheet.Letters70, sheet.Bold))
	name := c.panel.Job.Name
	if q := c.panel.Job.Quantity; q > 1 {
		name += fmt.Sprintf(", for %d panels", q)
	}
	right := c.x + cardW - cardPad
	name, size := sheet.FitText(name, right-x, sheet.Letters35, sheet.Letters25, sheet.Bold)
	k.Bold(x, c.y+cardPad+3.5, size, sheet.Left, name)
	for i, l := range sheet.Wrap(c.about, right-x, sheet.Letters25, sheet.Regular) {
		if i == 0 {
			k.Write(x, c.y+cardPad+8.3, sheet.Letters25, sheet.Left, l)
		} else { // the rest goes over the words
			c.words = append([]string{l}, c.words...)
		}
	}
	y := c.y + cardHead + 2.6
	for _, l := range c.words {
		k.Write(box.Max.X+cardPad, y, sheet.Letters25, sheet.Left, l)
		y += cardLine
	}
	y = c.y + cardHead + c.upper() + sheet.Letters25
	for _, l := range c.parts {
		k.Write(c.x+cardPad, y, sheet.Letters25, sheet.Left, l)
		y += cardLine
	}
	c.arrow(&k, view)
	s.Add(k.Items...)
	return Sticker{Page: page, Panel: c.panel.Job.ID, Station: c.station.ID, Angle: c.angle, View: view,
		Box: plane.Box{Min: drawing.At(c.x, c.y), Max: drawing.At(c.x+cardW, c.y+c.row)}}
}

// arrow points from the holes to the panel's edge and says which it is and how far.
func (c *stickerCard) arrow(k *drawing.Canvas, view sheet.View) {
	low := 2.0 // where the holes on the axis end
	for _, h := range c.turned.Holes {
		if d := h.At.Sub(c.at); math.Abs(d.X) < 4 {
			low = math.Max(low, -d.Y+h.Wanted/2+3)
		}
	}
	at := view.Map(c.at)
	show := drawing.TapeBrief(c.plan.Job, c.far)
	const size = sheet.Letters25
	if c.far > cardFar {
		end := c.at.Y - c.window.Min.Y - 1.5
		k.Add(sheet.Arrow(at.Add(drawing.At(0, low)), at.Add(drawing.At(0, end-8.5)))...)
		k.Write(at.X, at.Y+end-4.2, size, sheet.Centre, show)
		k.Write(at.X, at.Y+end, size, sheet.Centre, fitEdge("to edge "+c.edge, c.window.Width()))
		return
	}
	k.Write(at.X, at.Y+c.far+5.2, size, sheet.Centre, fitEdge("edge "+c.edge, c.window.Width()))
	text := sheet.Text{At: drawing.At(at.X+1.5, at.Y+(low+c.far)/2+1.2), Size: size, S: show, Halo: true, Layer: sheet.LayerDimension}
	const least = 5.0 // of an arrow with its text beside it
	if c.far-low > least {
		k.Add(sheet.Arrow(at.Add(drawing.At(0, low)), at.Add(drawing.At(0, c.far-0.4)))...)
	} else { // rivets stand there: beside the parts
		b := drawing.StationReach(c.turned, c.turned.Stations[0])
		x := view.Map(b.Max).X + 1.5
		text.At = drawing.At(x+3.2, at.Y+c.far/2+1.2)
		k.Add(sheet.Arrow(drawing.At(x+1.7, at.Y), drawing.At(x+1.7, at.Y+c.far-0.4))...)
	}
	k.Add(text)
}

func fitEdge(s string, wide float64) string {
	s, _ = sheet.FitText(s, wide, sheet.Letters25, sheet.Letters25, sheet.Regular)
	return s
}

// cardMarks draws a cross at every corner of the cards, where the shears go.
func cardMarks(s *sheet.Sheet, page []*stickerCard) {
	const arm = 2.0
	seen := map[plane.Point]bool{}
	for _, c := range page {
		for _, p := range []plane.Point{{X: c.x, Y: c.y}, {X: c.x + cardW, Y: c.y}, {X: c.x, Y: c.y + c.row}, {X: c.x + cardW, Y: c.y + c.row}} {
			if seen[p] {
				continue
			}
			seen[p] = true
			for _, d := range []plane.Point{{X: arm}, {Y: arm}} {
				s.Add(sheet.Line(p.Sub(d), p.Add(d), &sheet.Thin, sheet.LayerRegister))
			}
		}
	}
}

// cardsFoot has the scales of a page and says how cards are used.
func cardsFoot(s *sheet.Sheet, p *setout.Plan, page, of int) {
	pageScales(s, p)
	var c drawing.Canvas
	c.Write(pageMargin, s.H-pageMargin-cardFoot+4.6, sheet.Letters25, sheet.Left, "Print at 100 %, measure both scales. Cut out at the crosses, tape beside the station.")
	right := s.W - pageMargin
	name, size := sheet.FitText(drawing.JobWords(p.Job), right-pageMargin-2-112, sheet.Letters25, sheet.Letters18, sheet.Regular)
	c.Write(right, s.H-pageMargin-5.6, size, sheet.Right, name)
	c.Write(right, s.H-pageMargin-1, sheet.Letters25, sheet.Right, fmt.Sprintf("%s · stickers, sheet %d of %d", drawing.NoApproval, page+1, of))
	s.Add(c.Items...)
}
