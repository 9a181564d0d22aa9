package setout

import (
	"fmt"
	"math"

	"panelwright/internal/job"
	"panelwright/internal/spread"
	"panelwright/internal/stock"
)

// Wire is the wire of one station at the ends of its spread.
type Wire struct {
	Field  string  // what is missing; "" when the rest is known
	Share  float64 // of such stations that lie beyond each end
	Lo, Hi float64 // δ at the low and the high end, mm
	Ageing float64 // mm that wire set and creep eat
	Rate   float64 // N/mm, at its least
	Forced float64 // N, preload at the low end, aged: Rate·(Lo − Ageing), never below 0
}

// WireOf finds δ at the ends that all but a share of such stations keep within; the share is what the least chance wanted
// leaves. Stack, reach, receptacle depth and shims vary on their own; the nominal δ is that of the choice.
func WireOf(j *job.Job, pan *Panel, st *Station) Wire {
	c := st.Choice
	w := Wire{Ageing: j.Conditions.Ageing.Value, Share: 0.5}
	if m := pan.Job.Limits.ChanceMin.Value; m > 0 && m < 1 {
		w.Share = 1 - m
	}
	switch {
	case c == nil || c.Stud == nil || c.Receptacle == nil:
		w.Field = "parts that close"
	case c.Stud.Reach.Nom <= 0:
		w.Field = fmt.Sprintf("the reach of %s", c.Stud.ID)
	case c.Receptacle.Rate.Nom <= 0:
		w.Field = fmt.Sprintf("the wire rate of %s", c.Receptacle.ID)
	case len(st.Stack.Sum) == 0:
		w.Field = "the layers of the stack"
	}
	if w.Field != "" {
		return w
	}
	k := c.Receptacle.Rate
	sum := append(spread.Sum{}, st.Stack.Sum...)
	for _, tol := range []float64{c.Stud.Reach.Tol, c.Receptacle.Depth.Tol} {
		sum = append(sum, spread.RectangularAbout(0, tol))
	}
	if c.Shim != nil && c.Receptacle.Mount != stock.FrontUnderPanel {
		for range st.Shims {
			sum = append(sum, spread.RectangularAbout(0, c.Shim.Thickness.Tol))
		}
	}
	if give, _ := StackSoft(&st.Stack, c.Receptacle.FootArea); !math.IsInf(give, 1) {
		sum = sum.Scaled(give / (k.Nom + give)) // soft layers yield in series with the wire
	}
	off := st.Close.Delta - sum.Mean()
	w.Lo, w.Hi = sum.Quantile(w.Share)+off, sum.Quantile(1-w.Share)+off
	w.Rate = k.Nom - k.Tol
	w.Forced = math.Max(0, w.Rate*(w.Lo-w.Ageing))
	return w
}

// End says which end of the spread a value is of.
func (w Wire) End() string {
	return fmt.Sprintf("at the end of its spread that %.3g %% of such stations pass", 100*w.Share)
}
