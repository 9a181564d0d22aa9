package main

import (
	"encoding/json"
	"fmt"
	"html"
	"math/rand/v2"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// How long a client looks at what it got, and how quickly the places of a sliding station follow each other.
const (
	thinkMin, thinkMax = 300 * time.Millisecond, 1700 * time.Millisecond
	dragMin, dragMax   = 20 * time.Millisecond, 60 * time.Millisecond
)

// client is one tablet in the shop.
type client struct {
	*load
	name string
	rng  *rand.Rand
	n    int // changes it has made
}

func (c *client) pause(least, most time.Duration) {
	time.Sleep(least + time.Duration(c.rng.Int64N(int64(most-least))))
}

// count judges an answer and keeps it.
func (c *client) count(name string, a answer, status int, words ...string) outcome {
	o, why := judge(a, status, words...)
	c.add(name, o, a.took, why)
	return o
}

// step does one thing that people do: in a hundred, so many of each.
func (c *client) step() {
	v := c.vehicles[c.rng.IntN(3)]
	panel := v.panels[c.rng.IntN(len(v.panels))]
	at := fmt.Sprintf("/v/%d/", v.id)
	switch n := c.rng.IntN(1000); {
	case n < 100:
		c.count("vehicles", c.get("/"), http.StatusOK, "Sprint two-seater", "Generator canopy")
	case n < 230:
		c.count("vehicle", c.get(at), http.StatusOK, v.name, "Not known is no yes")
	case n < 330:
		c.count("set-out", c.get(at+"p/"+panel+"/setout"), http.StatusOK, "What governs")
	case n < 430:
		c.count("survey", c.get(at+"p/"+panel+"/survey"), http.StatusOK, "<form", panel)
	case n < 500:
		c.count("order", c.get(at+"order"), http.StatusOK, "Whole packs, together")
	case n < 550:
		c.count("prints", c.get(at+"prints"), http.StatusOK, "pack.zip")
	case n < 620:
		c.count("card", c.get(at+"p/"+panel+"/card"), http.StatusOK, "Save ticks and readings")
	case n < 670:
		c.count("history", c.get(at+"history"), http.StatusOK, "(present)")
	case n < 690:
		c.count("range", c.get(at+"range"), http.StatusOK, "Studs")
	case n < 780:
		c.slide(v)
	case n < 880:
		c.change(c.vehicles[3])
	case n < 881:
		c.change(v)
	case n < 985:
		c.tick(v, panel)
	case n < 995:
		c.count("pack.zip", c.get(at+"pack.zip"), http.StatusOK, "PK")
	default:
		c.count("api plan", c.send("POST", "/api/plan", "application/yaml", strings.NewReader(c.job)), http.StatusOK, `"panels"`)
	}
}

var (
	revisionOf = regexp.MustCompile(`name="rev" value="(\d+)"`)
	stationOf  = regexp.MustCompile(`data-station="(\d+)"`)
	boxOf      = regexp.MustCompile(`<input type="checkbox" value="yes" name="([^"]+)"`)
	textOf     = regexp.MustCompile(`(?s)<textarea id="text"[^>]*>(.*?)</textarea>`)
)

// slide takes a station up, moves it twelve places along, and sometimes lets it go there.
func (c *client) slide(v vehicle) {
	at := fmt.Sprintf("/v/%d/p/%s/", v.id, v.slides[c.rng.IntN(len(v.slides))])
	page := c.get(at + "setout")
	if c.count("set-out", page, http.StatusOK, "What governs") != good {
		return
	}
	stations := stationOf.FindAllStringSubmatch(page.body, -1)
	station := stations[c.rng.IntN(len(stations))][1]
	rev := revisionOf.FindStringSubmatch(page.body)[1]
	taken := c.post(at+"slide", url.Values{"rev": {rev}, "station": {station}})
	var places struct {
		At     int          `json:"at"`
		Places [][2]float64 `json:"places"`
	}
	if c.count("slide, taken up", taken, http.StatusOK, `"places"`) != good || json.Unmarshal([]byte(taken.body), &places) != nil {
		return
	}
	k := places.At
	for range 12 {
		c.pause(dragMin, dragMax)
		k = min(max(k+c.rng.IntN(5)-1, 0), len(places.Places)-1)
		if c.count("slide, moved", c.get(at+"slide?rev="+rev+"&station="+station+"&k="+strconv.Itoa(k)), http.StatusOK, `"gap_mm"`) != good {
			return
		}
	}
	if c.rng.IntN(40) == 0 {
		c.count("slide, let go", c.post(at+"stations", url.Values{"rev": {rev}, "do": {"move"}, "station": {station}, "k": {strconv.Itoa(k)}}), http.StatusSeeOther)
	}
}

// tries is how often a client saves again what met with somebody else's change.
const tries = 5

// change adds a remark to the job's text. Where somebody else was quicker it takes the text as it is now and tries again.
func (c *client) change(v vehicle) {
	at := fmt.Sprintf("/v/%d/text", v.id)
	c.n++
	remark := fmt.Sprintf("# %s, change %d\n", c.name, c.n)
	for range tries {
		page := c.get(at)
		if c.count("text", page, http.StatusOK, "<textarea") != good {
			return
		}
		rev, text := revisionOf.FindStringSubmatch(page.body)[1], html.UnescapeString(textOf.FindStringSubmatch(page.body)[1])
		lines := strings.SplitAfter(strings.TrimPrefix(text, "\n"), "\n")
		for i, l := range lines { // one remark by each client, so that the text does not grow
			if strings.HasPrefix(l, "# "+c.name+",") {
				lines[i] = ""
			}
		}
		c.pause(dragMin, dragMax)
		saved := c.post(at, url.Values{"rev": {rev}, "text": {strings.Join(lines, "") + remark}})
		if c.count("text, saved", saved, http.StatusSeeOther) != outdated {
			return
		}
	}
}

// tick ticks a box of a work card, or takes the tick away; where the plan is not there yet, and so no box to be seen, it signs the trial.
func (c *client) tick(v vehicle, panel string) {
	page := c.get(fmt.Sprintf("/v/%d/p/%s/card", v.id, panel))
	o := c.count("card", page, http.StatusOK, "Save ticks and readings")
	if o != good && o != waiting {
		return
	}
	box, value := "trial: signed", c.name
	if all := boxOf.FindAllStringSubmatch(page.body, -1); len(all) > 0 {
		box, value = html.UnescapeString(all[c.rng.IntN(len(all))][1]), "yes"
	}
	form := url.Values{"panel": {panel}, "piece": {"1"}, "quiet": {"yes"}}
	if c.rng.IntN(3) == 0 {
		form.Set("clear", box)
	} else {
		form.Set(box, value)
	}
	c.count("tick", c.post(fmt.Sprintf("/v/%d/marks", v.id), form), http.StatusNoContent)
}
