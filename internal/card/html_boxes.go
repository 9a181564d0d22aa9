package card

import (
	"bytes"
	"fmt"
	"html/template"
	"io"

	"panelwright/internal/setout"
)

// Form writes what is between head and foot of HTML for a page that keeps what is filled in: every box has a name, and stands
// as given says of that name: a text, or any text for a tick; "" for empty. Names are the same for the same work, whatever else
// of the plan changes. No element has a style of its own.
func Form(w io.Writer, p *setout.Plan, panel *setout.Panel, given func(name string) string) error {
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
	return d.tick("step: "+s.Title, fmt.Sprintf("step %d done", s.No))
}

// Blank is a box to write in, inside its label.
func (d htmlDoc) Blank(name string, more ...int) template.HTML {
	return d.text(named(name, more), "")
}

// Reading is a box for a number, with its label.
func (d htmlDoc) Reading(label string) template.HTML {
	return d.text(label, ` inputmode="decimal"`+d.labelled(label))
}

// Entry is a box to write in, with its label.
func (d htmlDoc) Entry(label string) template.HTML { return d.text(label, d.labelled(label)) }

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
	checked := ""
	if d.given(name) != "" {
		checked = " checked"
	}
	return template.HTML(`<input type="checkbox" value="yes" name="` + template.HTMLEscapeString(name) + `"` + checked + d.labelled(label) + `>`)
}

func (d htmlDoc) text(name, attributes string) template.HTML {
	if !d.Form {
		return template.HTML(`<input type="text"` + attributes + `>`)
	}
	return template.HTML(`<input type="text" maxlength="200" autocomplete="off" name="` + template.HTMLEscapeString(name) + `" value="` +
		template.HTMLEscapeString(d.given(name)) + `"` + attributes + `>`)
}
