package web

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"panelwright/internal/book"
	"panelwright/internal/card"
)

// saveMarks keeps what a page changed of a card, and nothing else: the page says what stood in its boxes when it was made (was). A
// box that is not ticked is not sent by a browser, so the form says of which names it speaks: all of the card (whole), or those
// that it names, with those in "clear". A box that somebody else changed meanwhile is left as it is, and the reader is told.
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
	if from, err := base(r); !found && err == nil { // the page is older than the panel's name
		if old, err := s.Book.GetRevision(r.Context(), v.Vehicle, from); err == nil {
			panel = renamed(old, v)[panel]
			pan, _, found = readPanel(j, panel)
		}
	}
	if !found {
		return refuse(http.StatusNotFound, "No such panel", "This vehicle has no such panel. Its name may have been changed meanwhile: reload the card.")
	}
	piece, err := pieceOf(r.PostForm.Get("piece"), pan.Quantity)
	if err != nil {
		return err
	}
	sent, err := sentMarks(r)
	if err != nil {
		return err
	}
	at, boxes, err := s.boxesOf(r, v, panel)
	if err != nil {
		return err
	}
	s.marking.Lock()
	defer s.marking.Unlock()
	name := cardName(panel, piece)
	now, err := s.Book.Marks(r.Context(), v.Vehicle, name)
	if err != nil {
		return err
	}
	kept, wrong := sent.over(now)
	seen := admit(boxes, kept, wrong)
	if err := s.Book.SetMarks(r.Context(), v.Vehicle, name, kept, at, seen, s.at()); err != nil {
		return missing(err, "There is no such vehicle in this book.")
	}
	quiet := r.PostForm.Get("quiet") == "yes"
	switch {
	case len(wrong) > 0 && quiet:
		w.WriteHeader(http.StatusConflict)
		return writeJSON(w, marksAnswer{wrong, now})
	case len(wrong) > 0:
		_, status := s.status(r, v)
		return s.showCard(w, r, v, status, cardAsked{panel, fmt.Sprint(piece), sent.values, wrong})
	case quiet:
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	see(w, r, fmt.Sprintf("/v/%d/p/%s/card?piece=%d", v.Vehicle, panel, piece), "marks")
	return nil
}

// renamed gives for each panel that has another id in fresh its new one: its place in the job is the same, its old id is gone, and
// the new one was not there.
func renamed(old, fresh Revision) map[string]string {
	out := map[string]string{}
	a, _ := readJob(old)
	b, _ := readJob(fresh)
	if a == nil || b == nil || len(a.Panels) != len(b.Panels) {
		return out
	}
	for i, p := range a.Panels {
		_, _, stays := readPanel(b, p.ID)
		_, _, there := readPanel(a, b.Panels[i].ID)
		if !stays && !there {
			out[p.ID] = b.Panels[i].ID
		}
	}
	return out
}

// sinceWords says of a mark that what it was made of has changed since; nothing where it has not.
func sinceWords(m book.Mark, box card.Box, present int) string {
	if m.Value == "" || m.No == 0 || m.No == present || m.Seen == box.Seen {
		return ""
	}
	did := "written"
	switch {
	case box.Kind == card.Tick:
		did = "ticked"
	case strings.HasSuffix(box.Name, ": signed"):
		did = "signed"
	}
	return fmt.Sprintf("%s at revision %d, the plan has changed since (revision %d): empty it and save, then do it anew", did, m.No, present)
}

// boxesOf gives the boxes of a card, nil where the plan is not ready, and the revision of the page. Of a page that is not of the
// present one it says nothing of what its reader saw.
func (s *server) boxesOf(r *http.Request, v Revision, panel string) (at int, boxes map[string]card.Box, err error) {
	at, err = strconv.Atoi(r.PostForm.Get("rev"))
	older := err == nil && at > 0 && at < v.Number
	if !older {
		at = v.Number
	}
	_, now := s.status(r, v)
	if now.Plan == nil {
		return at, nil, nil
	}
	boxes = map[string]card.Box{}
	err = card.Form(io.Discard, now.Plan, panelPlan1(now.Plan, panel), func(box card.Box) card.Given {
		if boxes[box.Name] = box; older {
			boxes[box.Name] = card.Box{Name: box.Name, Kind: box.Kind}
		}
		return card.Given{}
	})
	return at, boxes, err
}

// admit takes out of kept what its box does not take, with why, and gives what was seen of the rest. Emptying is always admitted.
func admit(boxes map[string]card.Box, kept, wrong map[string]string) (seen map[string]string) {
	seen = map[string]string{}
	for key, value := range kept {
		box, there := boxes[key]
		if !there {
			box = card.Guess(key)
		}
		switch seen[key] = box.Seen; {
		case value == "":
			continue
		case boxes != nil && !there:
			wrong[key] = fmt.Sprintf("“%s” is not kept: the card has no such box, or no longer", value)
		case !there && !shaped.MatchString(key):
			wrong[key] = "the card has no such box"
		default:
			if why := box.Refuses(value); why != "" {
				wrong[key] = why
			}
		}
		if wrong[key] != "" {
			delete(kept, key)
		}
	}
	return seen
}

// shaped is the name of a box as cards have them, for while a plan is not ready.
var shaped = regexp.MustCompile(`^(station|step|trial|second retention)|: (here|done|signed|date)( \(\d+\))?$`)

// marksAnswer tells the page's script which boxes were not kept, and what stands in the card.
type marksAnswer struct {
	Wrong map[string]string `json:"wrong"`
	Now   map[string]string `json:"now"`
}

// cardSent is what a page says of boxes: their values, and what stood in them when it was made, nil where it does not say.
type cardSent struct{ values, was map[string]string }

func sentMarks(r *http.Request) (cardSent, error) {
	sent := cardSent{values: map[string]string{}}
	if text := r.PostForm.Get("was"); text != "" {
		if err := json.Unmarshal([]byte(text), &sent.was); err != nil {
			return sent, refuse(http.StatusBadRequest, "Not readable", "The form does not say what stood in its boxes. Reload its page and try again.")
		}
	}
	if r.PostForm.Get("whole") == "yes" {
		for key := range sent.was {
			sent.values[key] = ""
		}
	}
	for _, key := range r.PostForm["clear"] {
		sent.values[key] = ""
	}
	for key, values := range r.PostForm {
		switch key {
		case "panel", "piece", "whole", "clear", "quiet", "was", "rev":
			continue
		}
		sent.values[key] = values[len(values)-1]
	}
	return sent, marksWithin(sent.values)
}

// over gives what is to be kept over the marks that stand now, and why the rest of what was changed is not.
func (c cardSent) over(now map[string]string) (kept, wrong map[string]string) {
	kept, wrong = maps.Clone(c.values), map[string]string{}
	for key, value := range c.values {
		switch stood, said := c.was[key], c.was != nil; {
		case value == now[key], said && value == stood:
			delete(kept, key)
		case said && now[key] != stood:
			delete(kept, key)
			theirs := "emptied this box"
			if now[key] != "" {
				theirs = fmt.Sprintf("wrote “%s” here", now[key])
			}
			wrong[key] = "somebody else " + theirs + " since this page was made: save again to put yours in its place"
		}
	}
	return kept, wrong
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
