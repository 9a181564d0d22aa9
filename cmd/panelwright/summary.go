package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"panelwright"
	"panelwright/internal/job"
	"panelwright/internal/measure"
	"panelwright/internal/setout"
)

// summary is what a fitter reads on the terminal: each panel with its fasteners, what does not hold, how many checks are
// not known, and where the pack is.
func summary(w io.Writer, p *setout.Plan, dir string) {
	ink := paintFor(w)
	c := panelwright.Tally(p)
	fmt.Fprintf(w, "%s\n\n", ink.bold(p.Job.Name))
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "  panel\tstations\tchosen\tshims at\tworst chance to close well")
	for _, pan := range p.Panels {
		panelRows(t, pan)
	}
	t.Flush()
	fmt.Fprintln(w)
	for _, pan := range p.Panels {
		for _, f := range pan.Faults {
			fmt.Fprintf(w, "  %s %s: %s\n", ink.bad("no answer:"), pan.Job.Name, f)
		}
		failing(w, ink, pan)
	}
	for _, f := range p.Judge {
		fmt.Fprintf(w, "  %s %s %s: %s\n", ink.bad("the judge disagrees:"), f.Panel, f.Station, f.Text)
	}
	doubtful(w, ink, p)
	surveys(w, p.Job, false)
	if c.Faults > 0 {
		fmt.Fprintf(w, "%s: read them above; what is planned beside them is no plan to build.\n", ink.bad(count(c.Faults, "thing")+" without an answer"))
	}
	fmt.Fprintf(w, "Checks: %d hold, %s, %d not known: not known is no yes.\n", c.Holds, doNotHold(ink, c.Fails), c.NotKnown)
	underLoad(w, p)
	if dir != "" {
		fmt.Fprintf(w, "Pack: %s (read plan.html first; print templates.pdf at 100 %% and measure its scales)\n", dir)
	} else {
		fmt.Fprintln(w, "Nothing was written: give --out FOLDER for the pack.")
	}
	fmt.Fprintln(w, "A planning aid, no approval. Not for aircraft, structural, occupant-restraint or fuel-containing joints.")
}

// underLoad says for which panels the panel model gives the loads of the stations, and for which only the area does.
func underLoad(w io.Writer, p *setout.Plan) {
	var inside, beyond, lacking, off []string
	for _, pan := range p.Panels {
		switch b := pan.Bearing; {
		case b.Valid():
			inside = append(inside, pan.Job.Name)
		case b != nil && b.Off:
			off = append(off, pan.Job.Name+" ("+b.Why+")")
		case b != nil && b.Known:
			beyond = append(beyond, pan.Job.Name)
		default:
			lacking = append(lacking, pan.Job.Name)
		}
	}
	say := func(names []string, what string) {
		if len(names) > 0 {
			fmt.Fprintf(w, "%s: %s.\n", what, strings.Join(names, ", "))
		}
	}
	say(off, "Comes off under load")
	say(inside, "Reckoned under load, as flat sheets that bend")
	say(beyond, "Not known under load, for what plan.html says of each (most often a sheet that stretches before it bends so far)")
	say(lacking, "Not reckoned under load, for want of what plan.html names")
	if len(beyond)+len(lacking) > 0 {
		fmt.Fprintln(w, "Where it is not known, loads at the stations are estimates by area: they can be low by half and know no prying.")
	}
}

func panelRows(t io.Writer, pan *setout.Panel) {
	name := pan.Job.Name
	if pan.Job.Quantity > 1 {
		name = fmt.Sprintf("%s (%d of them)", name, pan.Job.Quantity)
	}
	if len(pan.Choices) == 0 {
		fmt.Fprintf(t, "  %s\t%d\tnothing fits\t\t\n", name, len(pan.Stations))
	}
	for _, ch := range pan.Choices {
		n, shimmed := 0, 0
		for _, st := range pan.Stations {
			if st.Choice == ch {
				n++
				if st.Shims > 0 {
					shimmed++
				}
			}
		}
		chance := "not known"
		if ch.ChanceKnown {
			chance = measure.Percent(ch.WorstChance)
		}
		parts := []string{ch.Stud.ID}
		if ch.Plate != nil {
			parts = append(parts, ch.Plate.ID)
		}
		parts = append(parts, ch.Receptacle.ID)
		fmt.Fprintf(t, "  %s\t%d\t%s\t%d\t%s\n", name, n, strings.Join(parts, " + "), shimmed, chance)
		name = ""
	}
}

// surveys warns of outlines to be measured again, says where imported ones came from, and with notes which taped lengths nothing checks.
func surveys(w io.Writer, j *job.Job, notes bool) {
	ink := paintFor(w)
	for _, pan := range j.Panels {
		for _, s := range j.MeasureAgain(pan) {
			fmt.Fprintf(w, "  %s %s: %s\n", ink.bad("measure again:"), pan.Name, s)
		}
		for _, s := range j.ImportNotes(pan) {
			fmt.Fprintf(w, "  %s\n", s)
		}
		if notes {
			for _, s := range j.SurveyNotes(pan) {
				fmt.Fprintf(w, "  %s: %s\n", pan.Name, s)
			}
		}
	}
}

// failing prints what does not hold of one panel, once for stations that fail alike.
func failing(w io.Writer, ink paint, pan *setout.Panel) {
	var order []string
	stations := map[string][]string{}
	add := func(station string, checks []setout.Check) {
		for _, k := range checks {
			if k.Verdict != setout.DoesNotHold {
				continue
			}
			words := k.Name
			if !k.NoNumber {
				value, limit := measure.Apart(k.Value, k.Limit, 2)
				words += fmt.Sprintf(" %s, limit %s %s", value, limit, k.Unit)
			}
			if k.Cure != "" {
				words += "; " + k.Cure
			}
			if _, ok := stations[words]; !ok {
				order = append(order, words)
			}
			stations[words] = append(stations[words], station)
		}
	}
	add("", pan.Checks)
	for _, st := range pan.Stations {
		add(st.ID, st.Checks)
	}
	for _, words := range order {
		where := pan.Job.Name
		switch at := stations[words]; {
		case at[0] == "":
		case len(at) == 1:
			where += " station " + at[0]
		default:
			where += " stations " + strings.Join(at, ", ")
		}
		fmt.Fprintf(w, "  %s %s: %s\n", ink.bad("does not hold:"), where, words)
	}
}

// doubtful warns of checks that are not known but miss their limit by an estimate, each kind once at its worst.
func doubtful(w io.Writer, ink paint, p *setout.Plan) {
	doubts := setout.Doubts(p.Panels...)
	if len(doubts) == 0 {
		return
	}
	fmt.Fprintln(w, ink.bad("By an estimate or an assumed spread these miss their limit; do not drive on it before it is known:"))
	for _, d := range doubts {
		fmt.Fprintf(w, "  %s at %s: worst %s with %s %s, limit %s %s\n", d.Check.Name, count(d.Places, "place"), d.Where(),
			measure.Fixed(d.Check.Value, 1), d.Check.Unit, measure.Fixed(d.Check.Limit, 1), d.Check.Unit)
	}
}

func doNotHold(ink paint, n int) string {
	s := fmt.Sprintf("%d do not hold", n)
	if n > 0 {
		return ink.bad(s)
	}
	return s
}
