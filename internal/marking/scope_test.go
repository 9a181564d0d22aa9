package marking

import (
	"strings"
	"testing"

	"panelwright/internal/drawing"
	"panelwright/internal/setout"
	"panelwright/internal/sheet"
)

// Every page of strips, stickers and labels says that it is no approval, and so does every overview.
func TestNoApproval(t *testing.T) {
	papers(t, func(name string, p *setout.Plan) {
		for what, draw := range map[string]func(*setout.Plan) ([]sheet.Sheet, error){"strips": Strips, "stickers": Stickers, "labels": Labels, "templates": drawing.Templates} {
			sheets, err := draw(p)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range sheets {
				said := false
				for _, x := range drawing.TextsOf(s.Items) {
					said = said || strings.Contains(x.S, "no approval")
				}
				if !said && (what != "templates" || strings.HasSuffix(s.Title, ", overview")) {
					t.Errorf("%s: %s, %s does not say it", name, what, s.Title)
				}
			}
		}
	})
}
