// Package panelwright plans body panels that come off with quarter-turn fasteners: a job goes in, a shop pack comes out.
//
// Plan runs the path of docs/architecture.md, Draw makes everything that the bench needs, WritePack is the only code that
// writes files.
package panelwright

import (
	"context"
	"fmt"

	"panelwright/internal/bearing"
	"panelwright/internal/detail"
	"panelwright/internal/job"
	"panelwright/internal/judge"
	"panelwright/internal/setout"
)

// Version is the program's own; plan.json carries it.
const Version = "0.1.0"

// growthsMax bounds how often the parts' size may move the stations before the checks look at them. Two rounds settle every
// job seen; more means that places and parts chase each other, and the plan then says so.
const growthsMax = 6

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
	if err := settle(ctx, p, say); err != nil {
		return nil, err
	}
	for _, step := range []struct {
		doing string
		run   func(*setout.Plan)
	}{
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

// settle is the loop: place, choose, check, until it holds. Parts that need more room send the stations back (setout.Again),
// parts that fail their checks are sent back themselves (setout.Refuse), and each rejection leaves its reason in the plan.
// It ends: growths are counted here, and Refuse takes back so many pairs and no more.
func settle(ctx context.Context, p *setout.Plan, say func(string) error) error {
	var bench bearing.Bench
	for round, growths := 1, 0; ; round++ {
		if err := say(fmt.Sprintf("placing stations and choosing parts, round %d", round)); err != nil {
			return err
		}
		setout.Place(p)
		setout.Load(p)
		setout.Pick(p)
		reason, again := setout.Again(p)
		if growths++; again && growths == growthsMax {
			p.History = append(p.History, fmt.Sprintf("round %d: %s; after %d such rounds places and parts do not settle: the checks are of this one", round, reason, growths))
			again = false
		}
		if !again {
			if err := say("reckoning the panels under load"); err != nil {
				return err
			}
			if bench.Bear(ctx, p); ctx.Err() != nil {
				return ctx.Err()
			}
			detail.Holes(p)
			detail.Checks(p)
			reason, again = setout.Refuse(p)
			growths = 0
		}
		if !again {
			return nil
		}
		p.History = append(p.History, fmt.Sprintf("round %d: %s", round, reason))
	}
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
