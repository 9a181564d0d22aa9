package setout

import (
	"fmt"
	"math"
)

// Doubtful says whether a check that is not known misses its limit by what is estimated: no verdict, but a warning.
func (k Check) Doubtful() bool {
	return k.Verdict == NotKnown && !k.NoNumber && k.Margin < 0
}

// Estimated turns a check whose value rests on the tributary-area estimate into one that is not known: the estimate can be
// low by half, and knows no prying.
func (k Check) Estimated() Check {
	k.Verdict = NotKnown
	k.Rests = append(k.Rests, RestsTributaryArea)
	k.Cure = "the load at a station is an estimate by area: the panel model, which could decide this, is not known or out of its range here"
	return k
}

// Missing turns a check into one that is not known for want of a field.
func (k Check) Missing(field string) Check {
	k.Verdict, k.Margin = NotKnown, math.NaN()
	k.Cure = "give " + field
	return k
}

// CuredBy sets what would make a check hold, when it does not.
func (k Check) CuredBy(format string, args ...any) Check {
	if k.Verdict == DoesNotHold {
		k.Cure = fmt.Sprintf(format, args...)
	}
	return k
}

// Doubt is one kind of check that misses its limit by what is estimated, at its worst place.
type Doubt struct {
	Check   Check
	Panel   *Panel
	Station *Station // nil: the panel as a whole
	Places  int      // how many such checks there are
}

// Where names the worst place.
func (d Doubt) Where() string {
	if d.Station == nil {
		return d.Panel.Job.Name
	}
	return d.Panel.Job.Name + " station " + d.Station.ID
}

// Doubts gathers the doubtful checks of panels: each kind once, in the order in which they are met, at its least margin.
func Doubts(panels ...*Panel) []Doubt {
	var out []Doubt
	at := map[string]int{}
	add := func(pan *Panel, st *Station, checks []Check) {
		for _, k := range checks {
			if !k.Doubtful() {
				continue
			}
			i, met := at[k.ID]
			if !met {
				i = len(out)
				at[k.ID] = i
				out = append(out, Doubt{Check: k, Panel: pan, Station: st})
			}
			if out[i].Places++; k.Margin < out[i].Check.Margin {
				out[i].Check, out[i].Panel, out[i].Station = k, pan, st
			}
		}
	}
	for _, pan := range panels {
		add(pan, nil, pan.Checks)
		for _, st := range pan.Stations {
			add(pan, st, st.Checks)
		}
	}
	return out
}
