package card

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"strings"

	"panelwright/internal/measure"
	"panelwright/internal/setout"
)

// Kind is what a box takes.
type Kind int

// The kinds of box: to tick; a length in mm, or a count, as found at the trial fit; any words.
const (
	Tick Kind = iota
	Length
	Count
	Words
)

// Box is a box of a card. Its name is the same for the same work, whatever else of the plan changes.
type Box struct {
	Name string
	Kind Kind
	Seen string // stands for what the card says of it: a station, a step, or all stations; another when that changes
}

// Guess is a box as its name has it, for while there is no plan: what is not a reading takes any words.
func Guess(name string) Box {
	b := Box{Name: name, Kind: Words}
	switch {
	case strings.HasSuffix(name, boxShims):
		b.Kind = Count
	case strings.HasPrefix(name, "station ") && strings.HasSuffix(name, " found"):
		b.Kind = Length
	}
	return b
}

var (
	bareLength = regexp.MustCompile(`^[0-9]{1,3}([.,][0-9]{1,3})?$`)
	bareCount  = regexp.MustCompile(`^[0-9]{1,2}$`)
)

// Refuses says why a box does not take a value, with what it takes; "" where it does.
func (b Box) Refuses(value string) string {
	const most = 500.0 // mm
	value = strings.TrimSpace(value)
	switch b.Kind {
	case Length:
		text := value
		if bare := strings.TrimSpace(strings.TrimSuffix(value, "mm")); bareLength.MatchString(bare) {
			text = strings.Replace(bare, ",", ".", 1) + " mm"
		}
		q, err := measure.Parser{}.Parse(text, measure.Length)
		if err != nil || q.Value < 0 || q.Value > most {
			return fmt.Sprintf("“%s” is no length: accepted are millimetres up to %.0f, as 2.75 or 2,75, or a length with its unit, as 3/32 in", value, most)
		}
	case Count:
		if !bareCount.MatchString(value) {
			return fmt.Sprintf("“%s” is no number of shims: accepted is a whole number up to 99", value)
		}
	case Tick:
		if value != "yes" {
			return "a box to tick takes yes or nothing"
		}
	}
	return ""
}

// Given is what stands in a box, and what is said beside it. Any value is a tick; "" is empty.
type Given struct{ Value, Remark string }

// Form writes what is between head and foot of HTML for a page that keeps what is filled in: every box has a name, and stands
// as given. No element has a style of its own.
func Form(w io.Writer, p *setout.Plan, panel *setout.Panel, given func(Box) Given) error {
	doc, err := htmlDocOf(cardWorkOf(p, panel))
	if err != nil {
		return err
	}
	doc.Form, doc.given = true, given
	var b bytes.Buffer
	if err := htmlPage.ExecuteTemplate(&b, "body", doc); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

// Tick is a box to tick with its label; more tells several of one label apart.
func (d htmlDoc) Tick(label string, more ...int) template.HTML {
	return d.tick(named(label, more), label)
}

// StepTick is the box of a step: its name is the step's title, since its number hangs on the other steps.
func (d htmlDoc) StepTick(s htmlStep) template.HTML {
	return d.tick(stepName(s), fmt.Sprintf("step %d done", s.No))
}

// Blank is a box to write in, inside its label.
func (d htmlDoc) Blank(name string, more ...int) template.HTML {
	return d.text(d.box(named(name, more), Words), "")
}

// Reading is a box for a number, with its label.
func (d htmlDoc) Reading(label string) template.HTML {
	kind := Length
	if strings.HasSuffix(label, boxShims) {
		kind = Count
	}
	return d.text(d.box(label, kind), ` inputmode="decimal"`+d.labelled(label))
}

// Entry is a box to write in, with its label.
func (d htmlDoc) Entry(label string) template.HTML {
	return d.text(d.box(label, Words), d.labelled(label))
}

func named(label string, more []int) string {
	for _, n := range more {
		if n > 0 {
			label += fmt.Sprintf(" (%d)", n+1)
		}
	}
	return label
}

func (d htmlDoc) labelled(label string) string {
	return ` aria-label="` + template.HTMLEscapeString(label) + `"`
}

func (d htmlDoc) tick(name, label string) template.HTML {
	if !d.Form {
		return template.HTML(`<input type="checkbox"` + d.labelled(label) + `>`)
	}
	given, checked := d.given(d.box(name, Tick)), ""
	if given.Value != "" {
		checked = " checked"
	}
	return template.HTML(`<input type="checkbox" value="yes" name="` + template.HTMLEscapeString(name) + `"` + checked + d.labelled(label) + `>` + remark(given))
}

func (d htmlDoc) text(box Box, attributes string) template.HTML {
	if !d.Form {
		return template.HTML(`<input type="text"` + attributes + `>`)
	}
	given := d.given(box)
	return template.HTML(`<input type="text" maxlength="200" autocomplete="off" name="` + template.HTMLEscapeString(box.Name) + `" value="` +
		template.HTMLEscapeString(given.Value) + `"` + attributes + `>` + remark(given))
}

// box gives a box with what it is about.
func (d htmlDoc) box(name string, kind Kind) Box {
	about := fmt.Sprint(d.Stations, d.Parts)
	for _, st := range d.Stations {
		if strings.HasPrefix(name, "station "+st.ID+": ") {
			about = fmt.Sprint(st)
		}
	}
	for _, s := range d.Steps {
		if name == stepName(s) {
			about = fmt.Sprint(s.Lines, s.Gates, s.Rows)
		}
	}
	sum := sha256.Sum256([]byte(about))
	return Box{name, kind, hex.EncodeToString(sum[:8])}
}

func stepName(s htmlStep) string { return "step: " + s.Title }

// remark stands beside a box.
func remark(g Given) string {
	if g.Remark == "" {
		return ""
	}
	return ` <strong class="remark">` + template.HTMLEscapeString(g.Remark) + `</strong>`
}
