package panelwright

import (
	"context"
	"fmt"

	"panelwright/internal/bearing"
	"panelwright/internal/setout"
)

// Slide is one station of a planned panel on the move along its seat line: it answers in milliseconds what each place would do. Its
// answers are proposals; Plan, with the station there, says what counts.
type Slide = bearing.Slide

// NewSlide prepares a station of a plan, by the indices of its panel and of itself, for places about every step mm along its seat line.
// The error says what the panel model lacks, or that the station stands on no seat line.
func NewSlide(ctx context.Context, p *setout.Plan, panel, station int, step float64) (*Slide, error) {
	if panel < 0 || panel >= len(p.Panels) || station < 0 || station >= len(p.Panels[panel].Stations) {
		panic(fmt.Sprintf("panelwright: no station %d of panel %d", station, panel))
	}
	return bearing.NewSlide(ctx, p.Job, p.Panels[panel], station, step)
}
