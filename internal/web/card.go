package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"

	"panelwright/internal/card"
	"panelwright/internal/setout"
)

// cardView is the work card of one piece of a panel.
type cardView struct {
	planPage
	Steps  template.HTML
	Piece  int
	Pieces []int
	Was    string            // JSON: the marks that the page shows
	Gone   []string          // marks whose boxes the plan no longer has
	Wrong  map[string]string // what could not be kept, by box
}

// Bounds of what a card sends.
const (
	marksMax  = 2000
	markMax   = 200 // letters
	piecesMax = 1000
)

// cardName is under which the marks of a piece are kept.
func cardName(panel string, piece int) string { return fmt.Sprintf("card/%s/%d", panel, piece) }

func (s *server) card(w http.ResponseWriter, r *http.Request) error {
	v, _, now, err := s.planOf(r)
	if err != nil {
		return err
	}
	return s.showCard(w, r, v, now, cardAsked{panel: r.PathValue("panel"), piece: r.URL.Query().Get("piece")})
}

// cardAsked is which card is to be shown, and what of a sent one could not be kept: by the names of boxes.
type cardAsked struct {
	panel, piece string
	typed, wrong map[string]string
}

func (s *server) showCard(w http.ResponseWriter, r *http.Request, v Revision, now Status, asked cardAsked) error {
	id := asked.panel
	pan, _, found := readPanel(now.Job, id)
	if now.Job != nil && !found {
		return refuse(http.StatusNotFound, "No such panel", "This vehicle has no such panel.").back(address(v.Vehicle, ""), "To its panels")
	}
	view := cardView{planPage: planPage{now}, Piece: 1, Wrong: asked.wrong}
	head := &panelHead{id, id}
	var err error
	if found {
		head.Name = pan.Name
		if view.Piece, err = pieceOf(asked.piece, pan.Quantity); err != nil {
			return err
		}
		if pan.Quantity > 1 {
			for i := range min(pan.Quantity, piecesMax) {
				view.Pieces = append(view.Pieces, i+1)
			}
		}
	}
	if now.Plan != nil {
		if err := s.fillCard(r, &view, v, id, asked); err != nil {
			return err
		}
	}
	script, status := "card.js", http.StatusOK
	if now.Plan == nil {
		script = "run.js"
	}
	if len(asked.wrong) > 0 {
		status = http.StatusConflict
	}
	s.show(w, r, status, "card", page{Title: "Work card of " + head.Name, At: "card", Vehicle: &v, Panel: head, Script: script, Body: view})
	return nil
}

// fillCard writes the steps with the marks that stand, and over them what a reader typed that is not kept.
func (s *server) fillCard(r *http.Request, view *cardView, v Revision, id string, asked cardAsked) error {
	marks, err := s.Book.Marks(r.Context(), v.Vehicle, cardName(id, view.Piece))
	if err != nil {
		return err
	}
	was, err := json.Marshal(marks)
	if err != nil {
		return err
	}
	view.Was = string(was)
	made, err := s.Book.MarksOf(r.Context(), v.Vehicle, cardName(id, view.Piece))
	if err != nil {
		return err
	}
	shown := map[string]bool{}
	var b bytes.Buffer
	err = card.Form(&b, view.Status.Plan, panelPlan1(view.Status.Plan, id), func(box card.Box) card.Given {
		shown[box.Name] = true
		if words, ok := asked.wrong[box.Name]; ok {
			return card.Given{Value: asked.typed[box.Name], Remark: "✗ " + words}
		}
		return card.Given{Value: marks[box.Name], Remark: sinceWords(made[box.Name], box, v.Number)}
	})
	for name, m := range made {
		if !shown[name] {
			view.Gone = append(view.Gone, fmt.Sprintf("%s: %s (revision %d)", name, m.Value, m.No))
		}
	}
	slices.Sort(view.Gone)
	view.Steps = template.HTML(b.String())
	return err
}

func panelPlan1(p *setout.Plan, id string) *setout.Panel {
	for _, pan := range p.Panels {
		if pan.Job.ID == id {
			return pan
		}
	}
	panic("web: a plan without the job's panel " + id)
}

// pieceOf reads which of several equal panels is meant; none is the first.
func pieceOf(text string, quantity int) (int, error) {
	if text == "" {
		return 1, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > quantity || n > piecesMax {
		return 0, refuse(http.StatusNotFound, "No such piece", "There are %d of this panel, counted from 1.", quantity)
	}
	return n, nil
}
