package fault

import (
	"encoding/json"
	"io"
)

// WriteJSON writes the list as {"faults": [{"file", "line", "column", "field", "rule", "text", "hint"}, …]}, with the keys that
// plan.json uses for them: what the command line and the bench answer to programs. Errors are the writer's.
func (l List) WriteJSON(w io.Writer) error {
	type row struct {
		File   string `json:"file"`
		Line   int    `json:"line"`
		Column int    `json:"column"`
		Field  string `json:"field"`
		Rule   string `json:"rule"`
		Text   string `json:"text"`
		Hint   string `json:"hint"`
	}
	doc := struct {
		Faults []row `json:"faults"`
	}{[]row{}}
	for _, f := range l {
		doc.Faults = append(doc.Faults, row{f.Pos.File, f.Pos.Line, f.Pos.Col, f.Path, f.Rule, f.Text, f.Hint})
	}
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(doc)
}
