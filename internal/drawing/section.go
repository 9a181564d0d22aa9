package drawing

import (
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Sections draws a page for every kind of station of a plan: a section through it, enlarged and at full size.
func Sections(p *setout.Plan) ([]sheet.Sheet, error) {
	return nil, nil
}
