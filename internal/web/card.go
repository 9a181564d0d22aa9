package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
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
	Card   string // under which its marks are kept
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
	id := r.PathValue("panel")
	pan, _, found := readPanel(now.Job, id)
	if now.Job != nil && !found {
		return refuse(http.StatusNotFound, "No such panel", "This vehicle has no such panel.").back(address(v.Vehicle, ""), "To its panels")
	}
	view := cardView{planPage: planPage{now}, Piece: 1}
	head := &panelHead{id, id}
	if found {
		head.Name = pan.Name
		if view.Piece, err = pieceOf(r.URL.Query().Get("piece"), pan.Quantity); err != nil {
			return err
		}
		if pan.Quantity > 1 {
			for i := range min(pan.Quantity, piecesMax) {
				view.Pieces = append(view.Pieces, i+1)
			}
		}
	}
	view.Card = cardName(id, view.Piece)
	if now.Plan != nil {
		marks, err := s.Book.Marks(r.Context(), v.Vehicle, view.Card)
		if err != nil {
			return err
		}
		var b bytes.Buffer
		if err := card.Form(&b, now.Plan, panelPlan1(now.Plan, id), func(name string) string { return marks[name] }); err != nil {
			return err
		}
		view.Steps = template.HTML(b.String())
	}
	script := "card.js"
	if now.Plan == nil {
		script = "run.js"
	}
	s.show(w, r, http.StatusOK, "card", page{Title: "Work card of " + head.Name, At: "card", Vehicle: &v, Panel: head, Script: script, Body: view})
	return nil
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

// saveMarks keeps ticks and readings of a card: those that the form names. A box that is not ticked is not sent by a browser,
// so the form says of which names it speaks: all of the card (whole), or those in "only".
func (s *server) saveMarks(w http.ResponseWriter, r *http.Request) error {
	v, err := s.present(r)
	if err != nil {
		return err
	}
	if err := readForm(r); err != nil {
		return err
	}
	panel := r.PostForm.Get("panel")
	j, _ := readJob(v)
	pan, _, found := readPanel(j, panel)
	if !found {
		return refuse(http.StatusNotFound, "No such panel", "This vehicle has no such panel. Its name may have been changed meanwhile: reload the card.")
	}
	piece, err := pieceOf(r.PostForm.Get("piece"), pan.Quantity)
	if err != nil {
		return err
	}
	name := cardName(panel, piece)
	marks := map[string]string{}
	if r.PostForm.Get("whole") == "yes" {
		old, err := s.Book.Marks(r.Context(), v.Vehicle, name)
		if err != nil {
			return err
		}
		for key := range old {
			marks[key] = ""
		}
	}
	for _, key := range r.PostForm["clear"] {
		marks[key] = ""
	}
	for key, values := range r.PostForm {
		switch key {
		case "panel", "piece", "whole", "clear", "quiet":
			continue
		}
		marks[key] = values[len(values)-1]
	}
	if err := marksWithin(marks); err != nil {
		return err
	}
	if err := s.Book.SetMarks(r.Context(), v.Vehicle, name, marks, s.at()); err != nil {
		return missing(err, "There is no such vehicle in this book.")
	}
	if r.PostForm.Get("quiet") == "yes" {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	see(w, r, fmt.Sprintf("/v/%d/p/%s/card?piece=%d", v.Vehicle, panel, piece), "marks")
	return nil
}

func marksWithin(marks map[string]string) error {
	if len(marks) > marksMax {
		return refuse(http.StatusRequestEntityTooLarge, "Too many", "A card has at most %d boxes.", marksMax)
	}
	for key, value := range marks {
		if len([]rune(key)) > markMax || len([]rune(value)) > markMax {
			return refuse(http.StatusRequestEntityTooLarge, "Too long", "A box takes at most %d letters.", markMax)
		}
	}
	return nil
}
