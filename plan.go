// Package panelwright plans body panels that come off with quarter-turn fasteners: a job goes in, a shop pack comes out.
//
// Plan runs the path of docs/architecture.md, Draw makes everything that the bench needs, WritePack is the only code that
// writes files.
package panelwright

import (
	"context"
	"fmt"

	"panelwright/internal/detail"
	"panelwright/internal/job"
	"panelwright/internal/judge"
	"panelwright/internal/setout"
)

// Version is the program's own; plan.json carries it.
const Version = "0.1.0"

// roundsMax bounds the loop between places and parts: the parts' size moves the stations, the stations' stacks choose the
// parts. Two rounds settle every job seen; more means that they chase each other, and the plan then says so.
const roundsMax = 6

// Plan decides everything about a job that has no faults. Progress, when not nil, hears what is being done.
// The only error is the context's: what cannot be made to hold is an answer, and stands in the plan.
func Plan(ctx context.Context, j *job.Job, progress func(doing string)) (*setout.Plan, error) {
	say := func(s string) error {
		if progress != nil {
			progress(s)
		}
		return ctx.Err()
	}
	p := setout.NewPlan(j)
	for round := 1; ; round++ {
		if err := say(fmt.Sprintf("placing stations and choosing parts, round %d", round)); err != nil {
			return nil, err
		}
		setout.Place(p)
		setout.Pick(p)
		reason, again := setout.Again(p)
		if !again {
			break
		}
		p.History = append(p.History, fmt.Sprintf("round %d: %s", round, reason))
		if round == roundsMax {
			p.History = append(p.History, fmt.Sprintf("stopped after %d rounds: places and parts do not settle; the checks are of the last round", roundsMax))
			break
		}
	}
	for _, step := range []struct {
		doing string
		run   func(*setout.Plan)
	}{
		{"estimating loads", setout.Load},
		{"setting out holes", detail.Holes},
		{"checking every station", detail.Checks},
		{"counting the order", setout.Order},
		{"gathering assumptions and cautions", setout.Finish},
		{"judging the plan", judge.Judge},
	} {
		if err := say(step.doing); err != nil {
			return nil, err
		}
		step.run(p)
	}
	return p, ctx.Err()
}

// Count tells how the plan stands: checks that hold, that do not, that are not known, and faults that no choice of parts
// or places could cure. The judge's findings count as faults.
type Count struct {
	Holds, Fails, NotKnown int
	Doubtful               int // of NotKnown: those that miss their limit by the estimate
	Faults                 int // what has no answer, and what the judge disagrees with
}

// Tally counts the verdicts of a plan.
func Tally(p *setout.Plan) Count {
	var c Count
	add := func(checks []setout.Check) {
		for _, k := range checks {
			switch k.Verdict {
			case setout.Holds:
				c.Holds++
			case setout.DoesNotHold:
				c.Fails++
			default:
				c.NotKnown++
				if k.Doubtful() {
					c.Doubtful++
				}
			}
		}
	}
	for _, pan := range p.Panels {
		add(pan.Checks)
		c.Faults += len(pan.Faults)
		for _, st := range pan.Stations {
			add(st.Checks)
		}
	}
	c.Faults += len(p.Judge)
	return c
}

// NothingFails says whether every check holds or is not known: callers must show the count of the latter.
func (c Count) NothingFails() bool { return c.Fails == 0 && c.Faults == 0 }
